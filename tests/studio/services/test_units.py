import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.units import from_celsius, rate_from_celsius, rate_to_celsius, to_celsius

temperatures = st.floats(-459.0, 3000.0)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        (32.0, 0.0),
        (212.0, 100.0),
        (-40.0, -40.0),  # where both scales meet
        (1480.0, 7240.0 / 9.0),  # (1480 − 32) × 5/9
    ],
)
def test_temperature_has_a_zero(fahrenheit, celsius):
    assert to_celsius(fahrenheit, "F") == pytest.approx(celsius, abs=1e-9)
    assert from_celsius(celsius, "F") == pytest.approx(fahrenheit, abs=1e-9)


def test_rate_has_no_zero():
    assert rate_to_celsius(0.0, "F") == 0.0
    assert rate_to_celsius(300.0, "F") == pytest.approx(300 * 5 / 9, abs=1e-9)
    assert rate_from_celsius(27.0, "F") == pytest.approx(48.6, abs=1e-9)


def test_celsius_stays_as_it_is():
    assert to_celsius(804.3, "C") == 804.3
    assert rate_from_celsius(6.7, "C") == 6.7


def test_number_gives_float_and_array_keeps_its_shape():
    assert isinstance(to_celsius(1480, "F"), float)
    table = np.array([[32.0, 212.0], [-40.0, 1480.0]])
    assert to_celsius(table, "F").shape == (2, 2)
    assert rate_to_celsius([180.0, 360.0], "F") == pytest.approx([100.0, 200.0])
    assert to_celsius([], "F").size == 0


def test_given_array_is_never_handed_back():
    given_values = np.array([20.0, 804.0])
    to_celsius(given_values, "C")[0] = 0.0
    assert given_values[0] == 20.0


@pytest.mark.parametrize("convert", [to_celsius, from_celsius, rate_to_celsius, rate_from_celsius])
@pytest.mark.parametrize("unit", ["K", "f", "", "°C"])
def test_other_unit_is_refused(convert, unit):
    with pytest.raises(ValueError, match="not in"):
        convert(100.0, unit)


@given(temperatures)
def test_round_trip_of_a_temperature(fahrenheit):
    assert from_celsius(to_celsius(fahrenheit, "F"), "F") == pytest.approx(fahrenheit, abs=1e-9)


@given(temperatures, st.floats(0.0, 1000.0))
def test_rate_is_the_difference_of_two_temperatures(start, rise):
    apart = to_celsius(start + rise, "F") - to_celsius(start, "F")
    assert rate_to_celsius(rise, "F") == pytest.approx(apart, abs=1e-9)
