"""Readings shift a plan: later where the kiln is behind, never out of its order."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from firings.services.plan_place import Noted, place_readings, plan_stages, rest_of, stage_at
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0)
PLAN = planned_curve(
    [
        Segment(150.0, 540.0),
        Segment(300.0, 677.0, 1800.0),
        Segment(330.0, 804.0, 600.0),
        Segment(None, 482.0, 3600.0),
        Segment(80.0, 370.0),
    ],
    KILN,
)
END = PLAN.duration or 0.0


def placed(*readings: tuple[float, float], went_on: tuple[float, ...] = ()) -> float:
    return place_readings(PLAN, [Noted(*each) for each in readings], went_on).delay


@given(st.lists(st.floats(0.0, END + 40_000.0), min_size=1, max_size=8, unique=True))
def test_a_kiln_that_keeps_its_plan_is_not_moved(times: list[float]) -> None:
    readings = [(each, float(PLAN.at(each))) for each in times]
    assert abs(placed(*readings)) < 1.0


@given(st.floats(60.0, 5400.0), st.integers(2, 30))
def test_a_kiln_that_began_late_is_late_by_as_much(late: float, count: int) -> None:
    """Seen often enough; a look at the top alone can't tell how long it has been there."""
    times = np.linspace(late, END + 20_000.0, count * 10)
    delay = placed(*[(float(each), float(PLAN.at(each - late))) for each in times])
    assert delay == pytest.approx(late, abs=60.0)


def test_a_hold_waits_for_its_target() -> None:
    top = PLAN.spans[2]
    # 120 s into the hold by the clock, yet at 784 °C, which was due on the ramp before it.
    before = brentq(lambda moment: PLAN.at(moment) - 784.0, top.ramp_start, top.hold_start)
    delay = placed((top.hold_start + 120.0, 784.0))
    assert delay == pytest.approx(top.hold_start + 120.0 - before, abs=1.0)


def test_a_look_in_the_hold_says_nothing_of_its_length() -> None:
    soak = PLAN.spans[3]
    inside = (soak.hold_start + soak.hold_end) / 2
    assert placed((inside, 483.0)) == 0.0
    assert placed((inside, 482.0), (inside + 600.0, 470.0)) == 0.0  # vented: it was there before


def test_still_at_the_top_when_it_should_fall() -> None:
    fall = PLAN.spans[3]
    assert placed((fall.ramp_start + 900.0, 804.0)) == pytest.approx(900.0)


def test_slower_to_cool_is_later() -> None:
    fall = PLAN.spans[3]
    assert placed((fall.ramp_start + 1200.0, 760.0)) > 500.0
    assert placed((END + 7200.0, 330.0)) > 0.0


def test_warmer_at_the_start_is_sooner() -> None:
    assert placed((1800.0, 245.0)) == pytest.approx(1800.0 - 225.0 / 150.0 * 3600.0)


def test_ahead_of_a_target_that_is_not_held_it_is_on_the_next_ramp() -> None:
    placement = place_readings(PLAN, [Noted(9000.0, 600.0)])
    assert PLAN.at(placement.placed[0].planned) == pytest.approx(600.0)
    held = place_readings(PLAN, [Noted(13_000.0, 690.0)])  # above the hold at 677 that comes first
    assert PLAN.at(held.placed[0].planned) == pytest.approx(677.0)


def test_going_on_early_leaves_out_the_rest_of_the_hold() -> None:
    hold = PLAN.spans[1]
    placement = place_readings(PLAN, [], [hold.hold_end - 600.0])
    assert (placement.delay, placement.by_hand) == (-600.0, -600.0)
    assert placed(
        (hold.hold_end - 300.0, float(PLAN.at(hold.hold_end + 300.0))),
        went_on=(hold.hold_end - 600.0,),
    ) == pytest.approx(-600.0)


def test_thousands_of_readings_are_thinned_and_the_last_counts() -> None:
    times = np.arange(0.0, 30_000.0, 5.0)
    readings = [Noted(float(each), float(PLAN.at(each))) for each in times]
    placement = place_readings(PLAN, readings)
    assert len(placement.placed) <= 240
    assert placement.placed[-1].noted == readings[-1]


def test_stages_follow_each_other_without_a_gap() -> None:
    stages = plan_stages(PLAN)
    assert all(a.end == b.begin for a, b in pairwise(stages))
    assert [each.kind for each in stages] == [
        "ramp", "ramp", "hold", "ramp", "hold", "ramp", "hold", "ramp", "free",
    ]  # fmt: skip
    assert stage_at(PLAN, PLAN.spans[1].hold_start) == stages[2]


def test_what_is_left_goes_on_as_the_plan_does() -> None:
    for moment in (0.0, 9000.0, PLAN.spans[1].hold_start + 300.0, PLAN.spans[3].hold_start + 60.0):
        left = planned_curve(rest_of(PLAN, moment), KILN, PLAN.at(moment))
        assert left.duration == pytest.approx(END - moment, abs=0.01)
        assert left.at(4000.0) == pytest.approx(PLAN.at(moment + 4000.0), abs=0.01)
    assert rest_of(PLAN, END + 1.0) == []
