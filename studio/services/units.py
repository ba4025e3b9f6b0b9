"""Temperatures and rates between °C, in which the core computes, and °F.

A temperature has a zero, a rate is a difference per hour and has none: 200 °F is 93.3 °C, but
200 °F/h is 111.1 °C/h. The two never share a function.
"""

from functools import cache
from typing import Any, Final, overload

import numpy as np
import pint
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

UNITS: Final = ("C", "F")

_TEMPERATURES: Final = {"C": "degC", "F": "degF"}
_RATES: Final = {"C": "delta_degC/hour", "F": "delta_degF/hour"}


@overload
def to_celsius(value: float, unit: str) -> float: ...
@overload
def to_celsius(value: ArrayLike, unit: str) -> Floats: ...
def to_celsius(value: ArrayLike, unit: str) -> Floats | float:
    """A temperature in °C.

    Parameters
    ----------
    value : temperature in `unit`, any shape
    unit : "C" or "F"

    Returns
    -------
    °C in the shape of `value`: a float for a number.

    Raises
    ------
    ValueError
        For another unit.

    Examples
    --------
    >>> round(to_celsius(1480.0, "F"), 2)
    804.44
    """
    return _convert(value, _TEMPERATURES, unit, "C")


@overload
def from_celsius(value: float, unit: str) -> float: ...
@overload
def from_celsius(value: ArrayLike, unit: str) -> Floats: ...
def from_celsius(value: ArrayLike, unit: str) -> Floats | float:
    """A temperature given in °C, in `unit` ("C" or "F"); shapes and errors as `to_celsius`.

    Examples
    --------
    >>> round(from_celsius(100.0, "F"), 9)
    212.0
    """
    return _convert(value, _TEMPERATURES, "C", unit)


@overload
def rate_to_celsius(value: float, unit: str) -> float: ...
@overload
def rate_to_celsius(value: ArrayLike, unit: str) -> Floats: ...
def rate_to_celsius(value: ArrayLike, unit: str) -> Floats | float:
    """A rate, which is a temperature difference per hour, in °C/h.

    It serves for every temperature difference: 20 °F hotter is 11.1 °C hotter. Shapes and errors
    as `to_celsius`.

    Examples
    --------
    >>> round(rate_to_celsius(200.0, "F"), 1)
    111.1
    """
    return _convert(value, _RATES, unit, "C")


@overload
def rate_from_celsius(value: float, unit: str) -> float: ...
@overload
def rate_from_celsius(value: ArrayLike, unit: str) -> Floats: ...
def rate_from_celsius(value: ArrayLike, unit: str) -> Floats | float:
    """A rate or difference given in °C/h, in `unit` per hour; shapes and errors as `to_celsius`.

    Examples
    --------
    >>> round(rate_from_celsius(100.0, "F"), 9)
    180.0
    """
    return _convert(value, _RATES, "C", unit)


@cache
def _registry() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()  # read on first use: it takes a quarter of a second


def _convert(value: ArrayLike, names: dict[str, str], unit: str, wanted: str) -> Floats | float:
    if unit not in names or wanted not in names:
        other = unit if unit not in names else wanted
        raise ValueError(f"A temperature is in °C or °F, not in {other!r}.")
    given = np.asarray(value, dtype=np.float64)
    result = given
    if unit != wanted:
        quantity = _registry().Quantity(given, names[unit])
        result = np.asarray(quantity.to(names[wanted]).magnitude, dtype=np.float64)
    return float(result) if given.ndim == 0 else result.copy()
