"""Round figures that a controller takes, in the degrees that it shows."""

from math import ceil, floor

from studio.services.units import from_celsius, rate_from_celsius, rate_to_celsius, to_celsius

_SLACK = 1e-6
"""Of a step: what arithmetic may add to a figure that is round already."""
ROUND_TOP = {"C": 1.0, "F": 5.0}
"""Degrees by unit to which a peak is keyed: what the trade hands on is round in °F, and in °C what
that comes to."""
ROUND_WAY = {"C": 5.0, "F": 10.0}
"""Degrees by unit to which a target is keyed that is only passed on the way."""
_NEXT = 1e-4
"""Share of a round rate by which the next slower one is looked for: less than any step between two
of them, more than `_SLACK`."""
_FALL_SLACK = 1.0
"""Degrees by which the end of a fall may lie above the figure that it is rounded from."""


def _step_in(unit: str, resolution: float) -> float:
    return float(rate_from_celsius(resolution, unit))


def keyed_target(temperature: float, unit: str, resolution: float) -> float:
    """The nearest target, °C, that a controller takes.

    Parameters
    ----------
    temperature : °C
    unit : "C" or "F", that of the controller
    resolution : its smallest step, as a difference in °C

    Examples
    --------
    >>> keyed_target(804.3, "C", 1.0)
    804.0
    >>> round(keyed_target(804.3, "F", 5 / 9), 2)  # 1480 °F
    804.44
    """
    step = _step_in(unit, resolution)
    return float(to_celsius(round(float(from_celsius(temperature, unit)) / step) * step, unit))


def keyed_top(temperature: float, unit: str, resolution: float) -> float:
    """The nearest round peak, °C; the parameters are those of `keyed_target`.

    Examples
    --------
    >>> keyed_top(804.0, "C", 1.0), round(keyed_top(745.0, "F", 5 / 9), 2)  # 1375 °F
    (804.0, 746.11)
    """
    return keyed_target(temperature, unit, _multiple_of(resolution, ROUND_TOP[unit], unit))


def keyed_on_the_way(
    temperature: float, unit: str, resolution: float, *, falling: bool = False
) -> float:
    """A round target, °C, for a temperature that is only passed.

    The nearest on the way up; on the way down none that is higher by more than a degree, as a stage
    of cooling must not end early.

    The other parameters are those of `keyed_target`.

    Examples
    --------
    >>> keyed_on_the_way(538.0, "C", 1.0), keyed_on_the_way(363.0, "C", 1.0, falling=True)
    (540.0, 360.0)
    >>> round(keyed_on_the_way(427.0, "F", 5 / 9, falling=True), 2)  # 800 °F
    426.67
    """
    coarse = _multiple_of(resolution, ROUND_WAY[unit], unit)
    if not falling:
        return keyed_target(temperature, unit, coarse)
    step = _step_in(unit, coarse)
    shown = floor((float(from_celsius(temperature, unit)) + _FALL_SLACK) / step + _SLACK) * step
    return float(to_celsius(shown, unit))


def _multiple_of(resolution: float, wanted: float, unit: str) -> float:
    """The smallest multiple of a step, °C, that is no less than `wanted` degrees of `unit`."""
    step = _step_in(unit, resolution)
    return float(rate_to_celsius(max(1, ceil(wanted / step - _SLACK)) * step, unit))


def keyed_rate(rate: float, unit: str, resolution: float) -> float | None:
    """The fastest round rate, °C/h, that is no faster than `rate`; None where the controller's
    smallest step is faster.

    Round is a multiple of 5 from 50 on, a whole number from 10 on, and the controller's step below.

    Examples
    --------
    >>> keyed_rate(118.3, "C", 1.0), keyed_rate(27.9, "C", 1.0), keyed_rate(6.77, "C", 0.1)
    (115.0, 27.0, 6.7)
    >>> keyed_rate(0.5, "F", 5 / 9) is None
    True
    """
    shown = float(rate_from_celsius(rate, unit))
    step = _step_in(unit, resolution)
    coarse = 5.0 if shown >= 50 else 1.0 if shown >= 10 else step
    step = max(step, ceil(coarse / step - _SLACK) * step)
    keyed = floor(shown / step + _SLACK) * step
    return float(rate_to_celsius(round(keyed, 6), unit)) if keyed > 0 else None


def keyed_rates(fastest: float, slowest: float, unit: str, resolution: float) -> list[float]:
    """All round rates, °C/h, between two, the fastest first; the rest is as for `keyed_rate`.

    Examples
    --------
    >>> keyed_rates(56.0, 47.5, "C", 1.0)
    [55.0, 50.0, 49.0, 48.0]
    >>> keyed_rates(0.4, 0.1, "C", 1.0)
    []
    """
    rates: list[float] = []
    rate = keyed_rate(fastest, unit, resolution)
    while rate is not None and rate >= slowest:
        rates.append(rate)
        rate = keyed_rate(rate * (1 - _NEXT), unit, resolution)
    return rates


def keyed_hold(seconds: float) -> float:
    """The next round hold, s, that is no shorter: of 5 minutes to an hour, of 10 beyond, of 30
    beyond six hours.

    Examples
    --------
    >>> [keyed_hold(60 * minutes) / 60 for minutes in (0, 57, 63, 400)]
    [0.0, 60.0, 70.0, 420.0]
    """
    minutes = seconds / 60
    step = 5 if minutes <= 60 else 10 if minutes <= 360 else 30
    return 60.0 * step * ceil(minutes / step - _SLACK)


def hold_parts(seconds: float, longest: float | None) -> list[float]:
    """A hold, s, as a controller takes it that holds no longer than `longest` s (None for any).

    Examples
    --------
    >>> hold_parts(9000.0, 3600.0), hold_parts(600.0, None)
    ([3600.0, 3600.0, 1800.0], [600.0])
    """
    parts = []
    while longest is not None and seconds > longest:
        parts.append(longest)
        seconds -= longest
    return [*parts, seconds]
