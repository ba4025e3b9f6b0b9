import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedules.services.curve import Segment, planned_curve
from schedules.services.exchange import equal_heat_work_hold, equal_heat_work_peak
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1100.0, 7200.0, 10800.0)
GLASS = Glass()
FUSE = [Segment(150.0, 670.0, 1800.0), Segment(None, 804.0, 600.0), Segment(None, 516.0, 3600.0)]


def heat_work_of(target, hold):
    plan = [FUSE[0], Segment(None, target, hold), FUSE[2]]
    return planned_curve(plan, KILN).heat_work(GLASS)


def test_cooler_peak_wants_a_longer_hold():
    hold = equal_heat_work_hold(FUSE, 1, 794.0, KILN, GLASS)
    assert hold > 600.0
    assert heat_work_of(794.0, hold) == pytest.approx(heat_work_of(804.0, 600.0), rel=1e-9)


def test_too_hot_a_peak_leaves_no_hold():
    assert equal_heat_work_hold(FUSE, 1, 900.0, KILN, GLASS) is None


def test_no_peak_within_the_kiln_makes_up_for_a_hold():
    plan = [Segment(None, 1090.0, 36000.0)]
    assert equal_heat_work_peak(plan, 0, 0.0, KILN, GLASS) is None


def test_unreached_target_is_refused():
    with pytest.raises(ValueError, match="segment 2"):
        equal_heat_work_hold(FUSE, 1, 1200.0, KILN, GLASS)


@settings(deadline=None, max_examples=30)
@given(st.floats(770.0, 806.0))
def test_peak_and_hold_are_each_other_s_inverse(target):
    hold = equal_heat_work_hold(FUSE, 1, target, KILN, GLASS)
    assert equal_heat_work_peak(FUSE, 1, hold, KILN, GLASS) == pytest.approx(target, abs=0.01)
