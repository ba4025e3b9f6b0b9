"""Round figures that a controller takes, in the degrees that it shows."""

from math import ceil, floor

from studio.services.units import from_celsius, rate_from_celsius, rate_to_celsius, to_celsius

_SLACK = 1e-6
"""Of a step: what arithmetic may add to a figure that is round already."""


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
