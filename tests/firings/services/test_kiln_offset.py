from math import hypot

import numpy as np
import pytest

from firings.services.kiln_offset import (
    PROVEN_WITHIN,
    OffsetReading,
    offset_at,
    offset_bands,
    offset_readings,
    robust_mean,
)
from firings.services.measured import Measured, Seen, by_thermometer


def reading(display: float, value: float, instrument: str = "probe") -> OffsetReading:
    return OffsetReading(0.0, display, value, 1.8, 1.7, instrument)


def test_one_reading_is_told_with_its_own_spread() -> None:
    found = offset_at(800.0, [reading(800.0, 6.0)])
    assert found is not None
    assert found.value == 6.0
    assert found.spread == pytest.approx(2.0 * hypot(1.8, 1.7))


@pytest.mark.parametrize("away", [PROVEN_WITHIN + 0.1, -PROVEN_WITHIN - 0.1, 322.0])
def test_far_from_where_it_was_measured_it_is_unproven(away: float) -> None:
    assert offset_at(800.0 + away, [reading(800.0, 6.0)]) is None


def test_it_is_less_sure_away_from_where_it_was_measured() -> None:
    near, far = (offset_at(at, [reading(800.0, 6.0)]) for at in (800.0, 835.0))
    assert near is not None
    assert far is not None
    assert far.spread > near.spread


def test_the_same_thermometer_again_leaves_its_tolerance() -> None:
    """What it is off by it is off by each time; another instrument helps."""
    often = offset_at(800.0, [reading(800.0, 6.0)] * 50)
    both = offset_at(800.0, [reading(800.0, 6.0)] * 25 + [reading(800.0, 6.0, "tiles")] * 25)
    assert often is not None
    assert both is not None
    assert often.spread > 2.0 * 1.7
    assert both.spread < often.spread
    assert (both.measurements, both.instruments) == (50, 2)


def test_a_misread_display_does_not_carry_the_mean_away() -> None:
    readings = [reading(800.0, value) for value in (5.0, 6.0, 7.0, 6.0, 46.0)]
    found = offset_at(800.0, readings)
    assert found is not None
    assert found.value == pytest.approx(6.5, abs=1.0)


def test_bands_hold_what_is_proven_for_their_middle() -> None:
    displays = (482.0, 500.0, 530.0, 760.0, 801.0)
    bands = offset_bands([reading(at, 1.0) for at in displays])
    assert [band.measurements for band in bands] == [2, 1, 1, 1]
    assert [band.high for band in bands] == [500.0, 530.0, 760.0, 801.0]
    assert offset_bands([]) == []


def test_only_what_lay_at_the_reference_tells_of_the_display() -> None:
    away = by_thermometer(0.0, 800.0, {"front": 790.0}, 3.0, "probe")
    relative = Measured(0.0, 800.0, (Seen("centre", 800.0, 3.0),), None, "tiles")
    assert offset_readings([away, relative], "centre", 1.5) == []


def test_several_readings_there_are_one_of_them_weighed() -> None:
    seen = (Seen(None, 806.0, 1.0), Seen("centre", 812.0, 2.0))
    found = offset_readings([Measured(0.0, 800.0, seen, 1.0, "probe")], "centre", 0.1)[0]
    assert found.value == pytest.approx((6.0 * 1.0 + 12.0 * 0.25) / 1.25)


def test_values_that_disagree_are_less_sure() -> None:
    doubts = np.ones(4)
    _, alike = robust_mean(np.array([5.0, 5.0, 5.0, 5.0]), doubts)
    _, apart = robust_mean(np.array([0.0, 4.0, 6.0, 10.0]), doubts)
    assert alike == pytest.approx(0.5)
    assert apart > 2 * alike
