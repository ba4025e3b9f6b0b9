import inspect
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.services import kiln_rules
from schedules.services.checks import KilnLimits, Load, Remedy, check
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

RESPONSE = KilnResponse(1100.0, 7200.0, 10800.0)
KILN = KilnLimits(max_temperature=927.0, segments=4, response=RESPONSE)
FUSE = [Segment(150.0, 670.0, 1800.0), Segment(None, 804.0, 600.0), Segment(None, 516.0, 3600.0)]


def remarks(segments, kiln=KILN):
    """Of the kiln's rules alone: what they are tried with need not be a sound firing."""
    of_kiln = set(re.findall(r'Remark\(\s*"(\w+)"', inspect.getsource(kiln_rules)))
    assert len(of_kiln) >= 10
    return [
        remark for remark in check(segments, "full_fuse", Load(), kiln) if remark.code in of_kiln
    ]


def codes(segments, kiln=KILN):
    return [(remark.code, remark.severity, remark.segment) for remark in remarks(segments, kiln)]


def test_sound_schedule_passes():
    assert check(FUSE, "full_fuse", Load(), KILN) == []


def test_kiln_of_which_little_is_known_passes_what_it_can_check():
    assert check(FUSE, "full_fuse", Load(), KilnLimits(max_temperature=927.0)) == []


def test_rate_below_the_controller_s_step():
    [remark] = remarks([*FUSE, Segment(0.5, 480.0)])
    assert (remark.code, remark.severity, remark.segment) == ("rate_below_step", "warn", 3)
    assert remarks([*FUSE, Segment(1.0, 480.0)]) == []


def test_hold_beyond_the_controller_s_longest():
    kiln = KilnLimits(max_temperature=927.0, longest_hold=3600.0)
    held = [*FUSE, Segment(100.0, 200.0, 3660.0)]
    [remark] = [each for each in remarks(held, kiln) if each.segment == len(FUSE)]
    assert (remark.code, remark.severity) == ("hold_beyond_controller", "note")
    assert (remark.figure, remark.limit) == (3660.0, 3600.0)
    held[-1] = Segment(100.0, 200.0, 3600.0)
    assert [each for each in remarks(held, kiln) if each.segment == len(FUSE)] == []


def test_target_above_the_kiln_s_limit():
    assert codes([*FUSE, Segment(100.0, 927.0)]) == []
    [remark] = remarks([*FUSE, Segment(100.0, 930.0)])
    assert (remark.code, remark.severity, remark.segment) == ("target_above_kiln_limit", "block", 3)
    assert (remark.figure, remark.limit) == (930.0, 927.0)
    assert remark.remedy == Remedy("lower_target", 927.0)


def test_target_that_is_no_number_is_blocked():
    assert codes([Segment(100.0, float("nan"), 60.0)]) == [("target_above_kiln_limit", "block", 0)]


def test_display_that_reads_low_hides_a_hot_chamber():
    # Glass 12 °C above the display: 920 on the display is 932 in the chamber.
    kiln = KilnLimits(max_temperature=927.0, offset=12.0)
    [remark] = remarks([Segment(100.0, 920.0, 60.0)], kiln)
    assert (remark.code, remark.severity) == ("glass_above_kiln_limit", "warn")
    assert (remark.figure, remark.remedy) == (932.0, Remedy("lower_target", 915.0))


def test_more_segments_than_the_controller_takes():
    long = [*FUSE, Segment(55.0, 427.0), Segment(150.0, 371.0)]
    [remark] = remarks(long)
    assert (remark.code, remark.figure, remark.limit) == ("too_many_segments", 5, 4)
    assert remark.segment is None
    assert remark.remedy == Remedy("merge_segments", 1)


def test_schedule_without_segments():
    assert codes([]) == [("no_segments", "block", None)]


@pytest.mark.parametrize("rate", [0.0, -100.0, float("nan"), float("inf")])
def test_rate_that_is_none(rate):
    assert codes([Segment(rate, 500.0, 60.0)]) == [("rate_not_positive", "block", 0)]


@pytest.mark.parametrize("hold", [-1.0, float("nan")])
def test_negative_hold(hold):
    assert codes([Segment(100.0, 500.0, hold)]) == [("negative_hold", "block", 0)]


def test_target_that_stays_must_be_held():
    assert codes([Segment(100.0, 500.0, 60.0), Segment(100.0, 500.0, 60.0)]) == []
    still = [Segment(100.0, 500.0, 60.0), Segment(100.0, 500.0)]
    assert codes(still) == [("target_does_not_move", "block", 1)]


def test_first_target_is_measured_from_the_room():
    assert codes([Segment(100.0, 20.0)], KilnLimits(max_temperature=927.0)) == [
        ("target_does_not_move", "block", 0)
    ]


def test_target_that_the_kiln_cannot_reach():
    weak = KilnLimits(max_temperature=927.0, response=KilnResponse(800.0, 7200.0, 10800.0))
    [remark] = remarks(FUSE, weak)
    assert (remark.code, remark.segment) == ("target_beyond_reach", 1)
    assert (remark.figure, remark.limit) == (804.0, 799.0)


def test_target_at_the_room():
    assert codes([*FUSE, Segment(100.0, 21.0)]) == [("target_at_room", "block", 3)]


def test_gravest_come_first_then_the_order_of_segments():
    kiln = KilnLimits(max_temperature=927.0, segments=2, offset=12.0)
    plan = [Segment(100.0, 920.0, 60.0), Segment(-5.0, 500.0), Segment(100.0, 400.0, -1.0)]
    assert codes(plan, kiln) == [
        ("too_many_segments", "block", None),
        ("rate_not_positive", "block", 1),
        ("negative_hold", "block", 2),
        ("glass_above_kiln_limit", "warn", 0),
    ]


@given(st.lists(st.builds(Segment, st.none(), st.floats(-50.0, 1300.0)), min_size=1, max_size=6))
def test_whatever_the_curve_cannot_reach_is_blocked(plan):
    curve = planned_curve(plan, RESPONSE)
    kiln = KilnLimits(max_temperature=1400.0, response=RESPONSE)
    out_of_reach = [
        remark.segment
        for remark in remarks(plan, kiln)
        if remark.code in ("target_beyond_reach", "target_at_room")
    ]
    assert min(out_of_reach, default=None) == curve.unreached
