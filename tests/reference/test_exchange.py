"""Hotter or longer, for a typical soda-lime glass: computed beforehand for the trade's own cases.

The viscosity is the published window glass's (see test_viscosity), the kiln follows every ramp, and
each figure holds for the stated rate of the way up, with 500 °C/h down. They were worked out to
whole minutes and degrees.
"""

import pytest

from schedules.services.curve import Segment
from schedules.services.exchange import equal_heat_work_hold, equal_heat_work_peak
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Glass(
    strain_point=520.0, annealing_point=552.0, softening_point=721.9, high_temperature_limit=-2.585
)
STRONG = KilnResponse(20000.0, 3600.0, 60.0)


def ten_minutes_at(peak, rate_up):
    return [Segment(rate_up, peak, 600.0), Segment(500.0, 400.0)]


@pytest.mark.parametrize(
    ("peak", "rate_up", "other", "minutes"),
    [
        (804.0, 300.0, 794.0, 18.0),
        (804.0, 300.0, 784.0, 29.0),
        (677.0, 100.0, 663.0, 39.0),
        (677.0, 100.0, 650.0, 100.0),
        (677.0, 300.0, 663.0, 30.0),
        (677.0, 300.0, 650.0, 74.0),
    ],
)
def test_cooler_for_longer(peak, rate_up, other, minutes):
    hold = equal_heat_work_hold(ten_minutes_at(peak, rate_up), 0, other, STRONG, GLASS)
    assert hold / 60.0 == pytest.approx(minutes, rel=0.02)


def test_ten_minutes_more_are_worth_a_dozen_degrees():
    # 20 minutes at 804 °C are as 10 minutes at "about 13 °C" more.
    longer = [Segment(300.0, 804.0, 1200.0), Segment(500.0, 400.0)]
    peak = equal_heat_work_peak(longer, 0, 600.0, STRONG, GLASS)
    assert peak - 804.0 == pytest.approx(13.0, abs=0.5)
