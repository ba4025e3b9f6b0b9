"""How far a new thermocouple may be off, by its type and tolerance class.

The figures are those of IEC 60584 and ASTM E230 for new wire. In use a thermocouple drifts, and
the controller adds its own error: the tolerance is the least that two kilns may differ by.
"""

from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Band:
    """The greater of `least` (°C) and `share` of the reading, between `low` and `high` (°C)."""

    least: float
    share: float
    low: float
    high: float


BASE_METAL: Final = ("K", "N")
NOBLE_METAL: Final = ("R", "S")
TYPES: Final = BASE_METAL + NOBLE_METAL

CLASSES: Final = ("IEC 1", "IEC 2", "ASTM standard", "ASTM special")

# The tolerances are those of the standards; the ranges for which they hold are common practice,
# no source. Class 1 of R and S has a share of its own above 1100 °C, which is not stated here.
_BANDS: Final = {
    ("base", "IEC 1"): _Band(1.5, 0.004, -40.0, 1000.0),
    ("base", "IEC 2"): _Band(2.5, 0.0075, -40.0, 1200.0),
    ("base", "ASTM standard"): _Band(2.2, 0.0075, 0.0, 1260.0),
    ("base", "ASTM special"): _Band(1.1, 0.004, 0.0, 1260.0),
    ("noble", "IEC 1"): _Band(1.0, 0.0, 0.0, 1100.0),
    ("noble", "IEC 2"): _Band(1.5, 0.0025, 0.0, 1600.0),
    ("noble", "ASTM standard"): _Band(1.5, 0.0025, 0.0, 1480.0),
    ("noble", "ASTM special"): _Band(0.6, 0.001, 0.0, 1480.0),
}


@overload
def tolerance(temperature: float, kind: str, tolerance_class: str) -> float: ...
@overload
def tolerance(temperature: ArrayLike, kind: str, tolerance_class: str) -> Floats: ...
def tolerance(temperature: ArrayLike, kind: str, tolerance_class: str) -> Floats | float:
    """By how much a new thermocouple's reading may differ from the truth, either way.

    Parameters
    ----------
    temperature : °C, any shape
    kind : the thermocouple's type, one of `TYPES`
    tolerance_class : one of `CLASSES`

    Returns
    -------
    ± °C in the shape of `temperature`: a float for a float.

    Raises
    ------
    ValueError
        For a type or class that is not known here, or a temperature outside the class's range.

    Examples
    --------
    >>> round(tolerance(804.0, "K", "IEC 1"), 1), round(tolerance(804.0, "K", "IEC 2"), 1)
    (3.2, 6.0)

    Sources: IEC 60584-1, ASTM E230.
    """
    if kind not in TYPES:
        raise ValueError(f"No tolerance is known for a thermocouple of type {kind!r}.")
    if tolerance_class not in CLASSES:
        raise ValueError(f"No tolerance class of a thermocouple: {tolerance_class!r}.")
    band = _BANDS["base" if kind in BASE_METAL else "noble", tolerance_class]
    celsius = np.asarray(temperature, dtype=np.float64)
    if not np.all((celsius >= band.low) & (celsius <= band.high)):
        raise ValueError(
            f"{tolerance_class} of type {kind} holds from {band.low:g} to {band.high:g} °C."
        )
    result = np.maximum(band.least, band.share * np.abs(celsius))
    return float(result) if celsius.ndim == 0 else result
