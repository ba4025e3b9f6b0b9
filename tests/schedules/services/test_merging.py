from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.services.curve import Segment, planned_curve
from schedules.services.merging import MergeStep, merges
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1250.0, 4950.0, 12_600.0, slow_cooling_time_constant=25_200.0)
FUSE = [
    Segment(150.0, 540.0),
    Segment(300.0, 677.0, 1800.0),
    Segment(330.0, 804.0, 600.0),
    Segment(None, 482.0, 3600.0),
    Segment(83.0, 427.0),
    Segment(150.0, 371.0),
    Segment(330.0, 50.0),
]


def test_a_controller_that_takes_all_is_offered_nothing() -> None:
    assert merges(FUSE, 7, KILN) == ()


def test_last_cooling_goes_only_where_the_kiln_cools_slower_by_itself() -> None:
    # (371 − 20) / 25 200 s is 50 °C/h at the most: the 330 °C/h never come into play.
    [only] = merges(FUSE, 6, KILN)
    assert only.segments == tuple(FUSE[:-1])
    assert only.steps == (MergeStep("left_out", (6,)),)
    assert only.longer == 0
    # A small kiln falls at (371 − 20) / 0.5 h = 702 °C/h: there the ramp holds it back.
    by_cooling, _ = merges(FUSE, 6, KilnResponse(1250.0, 1200.0, 1800.0))
    assert [step.kind for step in by_cooling.steps] == ["joined"]


def test_falls_are_joined_at_the_slower_rate_those_first_that_cost_least() -> None:
    quick = KilnResponse(1250.0, 4950.0, 5400.0)  # falls at 234 °C/h at 371 °C
    by_cooling = merges(FUSE, 5, quick)[0]
    assert by_cooling.segments[-1] == Segment(83.0, 371.0)
    assert MergeStep("joined", (4, 5), 83.0) in by_cooling.steps
    # 56 °C at 83 instead of 150 °C/h: 18 min.
    assert by_cooling.longer == pytest.approx(56 * (1 / 83 - 1 / 150) * 3600, abs=1)


def test_heating_is_joined_where_no_hold_lies_between() -> None:
    plan = [Segment(150.0, 300.0), *FUSE[1:5]]
    _, by_heating = merges([*plan, Segment(150.0, 371.0)], 5, None)
    assert by_heating.segments[0] == Segment(150.0, 677.0, 1800.0)
    assert by_heating.longer is None


def test_parts_of_a_hold_come_together_where_the_controller_takes_it_whole() -> None:
    plan = [*FUSE[:4], Segment(None, 482.0, 3600.0), Segment(83.0, 371.0)]
    [whole] = merges(plan, 5, KILN, longest_hold=7200.0)
    assert whole.segments[3] == Segment(None, 482.0, 7200.0)
    assert whole.longer == pytest.approx(0.0, abs=1e-6)
    assert all(
        Segment(None, 482.0, 7200.0) not in each.segments
        for each in merges(plan, 5, KILN, longest_hold=7199.0)
    )


def test_anneal_and_top_are_never_joined() -> None:
    assert merges(FUSE[1:5], 2, KILN) == ()
    straight_down = [Segment(200.0, 804.0, 600.0), Segment(None, 540.0), Segment(80.0, 370.0)]
    assert merges(straight_down, 2, KILN) == ()


SEGMENTS = st.lists(
    st.builds(
        Segment,
        st.one_of(st.none(), st.floats(5, 400)),
        st.floats(100, 900),
        st.sampled_from([0.0, 0.0, 600.0, 3600.0]),
    ),
    min_size=2,
    max_size=9,
)


@given(SEGMENTS, st.integers(1, 8))
def test_nothing_becomes_faster_and_no_hold_shorter(segments: list[Segment], limit: int) -> None:
    for found in merges(segments, limit, KILN):
        assert len(found.segments) <= limit
        assert found.longer is not None
        assert found.longer >= -1e-6
        held = sum(segment.hold for segment in segments)
        assert sum(segment.hold for segment in found.segments) == pytest.approx(held)
        assert max(s.target for s in found.segments) == max(s.target for s in segments)


@given(SEGMENTS)
def test_leaving_out_the_last_fall_changes_no_temperature(segments: list[Segment]) -> None:
    plan = [*segments, Segment(400.0, 60.0)]
    for found in merges(plan, len(segments), KILN):
        if found.steps == (MergeStep("left_out", (len(segments),)),):
            before, after = planned_curve(plan, KILN), planned_curve(found.segments, KILN)
            times = np.linspace(0.0, before.duration or 0.0, 200)
            assert np.allclose(before.at(times), after.at(times), atol=1e-6)


def test_room_counts_as_the_start() -> None:
    warm = replace(KILN, ambient=30.0)
    plan = [Segment(100.0, 200.0), Segment(100.0, 500.0), Segment(None, 400.0, 60.0)]
    assert merges(plan, 2, warm)[0].segments[0] == Segment(100.0, 500.0)
