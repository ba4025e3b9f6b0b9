"""Between which peaks each process works, and where glass devitrifies.

Common practice, no source; ranges differ by glass, and the glass maker's sheet wins. Temperatures
are those of the glass, in °C.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TemperatureRange:
    """From `low` to `high`, °C."""

    low: float
    high: float

    def __contains__(self, temperature: float) -> bool:
        return self.low <= temperature <= self.high


PEAK_RANGES = {
    "full_fuse": TemperatureRange(790.0, 840.0),  # fusing glasses to 816, float from 820
    "contour_fuse": TemperatureRange(760.0, 788.0),
    "tack_fuse": TemperatureRange(730.0, 760.0),
    "fire_polish": TemperatureRange(670.0, 730.0),
    "slump": TemperatureRange(620.0, 680.0),
    "drape": TemperatureRange(620.0, 680.0),
}
"""Casting, annealing and metal clay have no range of the trade's: the maker's sheet says."""

DEVITRIFICATION = TemperatureRange(700.0, 760.0)
"""Where crystals grow; seen after about an hour, and above it too."""


def peak_range(process: str | None) -> TemperatureRange | None:
    """The range of a process's peak in the glass; None where the trade has none.

    Examples
    --------
    >>> 677.0 in peak_range("slump")
    True
    >>> peak_range("cast") is None
    True
    """
    return PEAK_RANGES.get(process or "")
