"""A running firing as it is expected to go on."""

from math import exp

import numpy as np
import pytest

from firings.services.plan_place import Noted
from firings.services.watching import Watch, watch, watch_from
from schedules.services.curve import Segment, planned_curve
from schedules.services.kiln_run import Piece
from schedules.services.predicting import predict_time
from studio.services.kiln_response import KilnResponse

COVARIANCE = np.diag([12.0**2, 15.0**2, 650.0**2, 1300.0**2])
KILN = KilnResponse(
    1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0, covariance=COVARIANCE
)
PLAN = planned_curve(
    [Segment(300.0, 677.0, 1800.0), Segment(None, 804.0, 600.0), Segment(None, 482.0, 3600.0)],
    KILN,
)
END = PLAN.duration or 0.0


def test_without_readings_it_is_the_plan() -> None:
    seen = watch(PLAN, [])
    for moment in (0.0, 5000.0, PLAN.spans[1].hold_start, END, END + 30_000.0):
        assert seen.expected(moment) == PLAN.at(moment)
    assert not seen.is_moved
    assert seen.peak_at == PLAN.spans[1].hold_start
    told, straight = seen.cool_enough(), predict_time(PLAN.segments, KILN, 60.0)
    assert told is not None
    assert straight is not None
    assert (told.expected, told.earliest, told.latest) == pytest.approx(
        (straight.expected, straight.earliest, straight.latest)
    )


def test_all_that_is_to_come_moves_with_a_reading() -> None:
    plain, late = watch(PLAN, []), watch(PLAN, [Noted(5400.0, 320.0)])
    assert late.delay == 1800.0
    assert late.expected(5400.0) == pytest.approx(320.0)
    for before, after in zip(plain.due(), late.due(), strict=True):
        assert (after.code, after.seconds - 1800.0) == (before.code, before.seconds)
    first, *to_come = zip(plain.stages(), late.stages(), strict=True)
    assert [stage.begin for stage in first] == [0.0, 0.0]
    assert first[1].end == PLAN.spans[0].hold_start + 1800.0
    for before_stage, after_stage in to_come:
        assert after_stage.begin - 1800.0 == before_stage.begin


def test_what_lies_behind_stays_where_it_was() -> None:
    """A reading in a later hold moves what comes after it, not the ramp that was over before."""
    hold = PLAN.spans[0].hold_start
    on_time, late = Noted(hold + 60.0, 677.0), Noted(hold + 3000.0, 677.0)
    begun = watch(PLAN, [on_time]).stages()[1].begin
    seen = watch(PLAN, [on_time, late, Noted(PLAN.spans[1].ramp_start + 3600.0, 690.0)])
    assert seen.delay > 3000.0
    assert seen.stages()[1].begin == begun == hold
    assert seen.stages()[3].begin == PLAN.spans[1].hold_start + seen.delay


def test_gone_on_early_the_stage_left_ends_then() -> None:
    went_on = PLAN.spans[0].hold_start + 300.0
    seen = watch(PLAN, [Noted(went_on + 900.0, 790.0)], went_on=[went_on])
    ramp, hold, after, *_ = seen.stages()
    assert (ramp.begin, ramp.end) == (0.0, PLAN.spans[0].hold_start)
    assert hold.end == after.begin == pytest.approx(went_on)


def test_stages_stand_in_order_whatever_was_read() -> None:
    noted = [Noted(9000.0, 500.0), Noted(9600.0, 430.0), Noted(15000.0, 700.0)]
    edges = [edge for each in watch(PLAN, noted).stages() for edge in (each.begin, each.end)]
    known = [edge for edge in edges if edge is not None]
    assert known[0] == 0.0
    assert known == sorted(known)


def test_the_range_narrows_as_the_firing_goes_on() -> None:
    def width(seen: Watch) -> float:
        told = seen.cool_enough()
        assert told is not None
        assert told.earliest is not None
        assert told.latest is not None
        assert told.earliest <= told.expected <= told.latest
        return told.latest - told.earliest

    moments = (3600.0, PLAN.spans[1].hold_start, END, END + 20_000.0)
    widths = [width(watch(PLAN, [Noted(each, float(PLAN.at(each)))])) for each in moments]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.7 * widths[0]


def test_next_due_in_order() -> None:
    seen = watch(PLAN, [])
    top = PLAN.spans[1]
    found = [seen.next_due(each) for each in (0.0, top.hold_start, top.hold_end, END)]
    assert [each.code for each in found if each] == [
        "top_reached", "top_ends", "segments_done", "cool_enough",
    ]  # fmt: skip
    assert seen.next_due(1e9) is None


def at(pieces: list[Piece], seconds: float) -> float:
    """As the script of the page does it."""
    piece = next((each for each in pieces if seconds < each.end), pieces[-1])
    since = max(seconds - piece.start, 0.0)
    if piece.constant:
        return piece.asymptote + (piece.first - piece.asymptote) * exp(-since / piece.constant)
    return piece.first + (piece.last - piece.first) * since / (piece.end - piece.start)


@pytest.mark.parametrize("readings", [[], [Noted(5400.0, 320.0)], [Noted(5400.0, 600.0)]])
def test_knots_are_the_whole_curve(readings: list[Noted]) -> None:
    seen = watch(PLAN, readings)
    pieces = seen.knots()
    for moment in np.linspace(0.0, END + 90_000.0, 500).tolist():
        assert at(pieces, moment) == pytest.approx(seen.expected(moment), abs=0.01)


def test_stopped_it_cools_from_where_it_was() -> None:
    seen = watch(PLAN, [], stopped_at=9000.0)
    assert seen.stopped
    assert seen.expected(9000.0) == pytest.approx(PLAN.at(9000.0))
    assert [each.code for each in seen.due()] == ["cool_enough"]
    read = watch(PLAN, [Noted(9600.0, 640.0)], stopped_at=9000.0)
    assert read.expected(9600.0) == pytest.approx(640.0)


def test_climbing_after_it_was_stopped_is_a_runaway() -> None:
    readings = [Noted(9600.0, 640.0), Noted(10200.0, 655.0)]
    standing = watch(PLAN, readings, stopped_at=9000.0).standing
    assert standing is not None
    assert standing.is_runaway
    assert standing.noted == readings[-1]


def test_a_plan_that_began_in_mid_firing() -> None:
    left = planned_curve([Segment(100.0, 482.0, 3600.0)], KILN, 300.0)
    seen = watch_from(left, 20_000.0, [Noted(8000.0, 700.0), Noted(21_800.0, 350.0)])
    assert seen.delay == pytest.approx(0.0)
    assert seen.expected(20_000.0 + 1800.0) == pytest.approx(350.0)
    assert seen.standing is not None
    assert seen.standing.code == "on_plan"


def test_a_target_out_of_reach_tells_no_end() -> None:
    seen = watch(planned_curve([Segment(None, 1099.9, 600.0)], KILN), [])
    assert seen.cool_enough() is None
    assert seen.expected(1e6) is None
    assert seen.stage(1e6) is None
