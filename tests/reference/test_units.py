"""Temperatures and rates against the definitions of the scales and a general-purpose library."""

import numpy as np
import pytest
from scipy.constants import convert_temperature

from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse
from studio.services.units import from_celsius, rate_to_celsius, to_celsius


def test_temperatures_agree_with_scipy():
    fahrenheit = np.linspace(-459.0, 2500.0, 300)
    celsius = convert_temperature(fahrenheit, "Fahrenheit", "Celsius")
    assert to_celsius(fahrenheit, "F") == pytest.approx(celsius, abs=1e-9)
    assert from_celsius(celsius, "F") == pytest.approx(fahrenheit, abs=1e-9)


@pytest.mark.parametrize(
    ("rate_f", "rate_c"),
    [
        # Computed: a difference of 9 °F is one of 5 °C, by the definition of the two scales.
        (200.0, 111.11),
        (300.0, 166.67),
        (50.0, 27.78),
        (20.0, 11.11),
    ],
)
def test_rate_is_a_difference(rate_f, rate_c):
    assert rate_to_celsius(rate_f, "F") == pytest.approx(rate_c, abs=0.005)


def test_ramp_of_200_an_hour_is_up_400_after_two_hours():
    # Common practice, no source: in either unit, whatever the start.
    strong = KilnResponse(5000.0, 3600.0, 3600.0)
    celsius = planned_curve([Segment(200.0, 900.0)], strong, start=25.0)
    assert celsius.at(7200.0) - 25.0 == pytest.approx(400.0)
    fahrenheit = planned_curve([Segment(rate_to_celsius(200.0, "F"), 900.0)], strong, start=25.0)
    risen = from_celsius(fahrenheit.at(7200.0), "F") - from_celsius(25.0, "F")
    assert risen == pytest.approx(400.0)
