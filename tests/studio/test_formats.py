import pytest

from studio import formats


@pytest.mark.parametrize(
    ("value_c", "unit", "text"),
    [(804.0, "C", "804 °C"), (804.444, "F", "1480 °F"), (-12.0, "C", "−12 °C")],
)
def test_temperature(value_c: float, unit: str, text: str) -> None:
    assert formats.temperature(value_c, unit) == text


@pytest.mark.parametrize(
    ("delta_c", "unit", "text"),
    [(10.0, "F", "+18 °F"), (-2.0, "C", "−2 °C"), (0.2, "C", "0 °C"), (-0.2, "C", "0 °C")],
)
def test_a_difference_is_signed_and_never_shifted_by_32(
    delta_c: float, unit: str, text: str
) -> None:
    assert formats.temperature_difference(delta_c, unit) == text


def test_rate() -> None:
    assert formats.rate(111.1111, "F") == "200 °F/h"
    assert formats.rate(6.7, "C", 1) == "6.7 °C/h"
    assert formats.rate(None, "C") == "full power"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0 min"), (2280, "38 min"), (57900, "16 h 05"), (-2700, "−45 min"), (3599, "1 h 00")],
)
def test_duration(seconds: float, text: str) -> None:
    assert formats.duration(seconds) == text


def test_duration_difference_is_signed() -> None:
    assert formats.duration_difference(2700) == "+45 min"
    assert formats.duration_difference(12) == "0 min"


@pytest.mark.parametrize(("value", "text"), [(6.70, "6.7"), (-0.001, "0"), (10.0, "10")])
def test_a_number_has_no_trailing_zeros(value: float, text: str) -> None:
    assert formats.number(value, 2) == text
