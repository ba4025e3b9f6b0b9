"""Where each process works, by the softness of the glass.

Common practice, no source: what studios use for fusing glasses that soften near 677 °C, moved with
the softening point for others; the glass maker's sheet wins.
"""

from dataclasses import dataclass

from studio.services.glass import Glass

USUAL_SOFTENING_POINT = 677.0
"""°C, of the fusing glasses for which `TOPS` is handed on."""
SOFTENING_SHARE = 0.7
"""°C that a process moves for each °C of the softening point: float glass, which softens 38 °C
higher, is fused some 27 °C hotter."""


@dataclass(frozen=True, slots=True)
class Top:
    """A process's peak in the glass, °C, for a glass that softens at the usual point, and its hold,
    s."""

    peak: float
    hold: float


TOPS = {
    "full_fuse": Top(804.0, 600.0),
    "contour_fuse": Top(775.0, 600.0),
    "tack_fuse": Top(745.0, 600.0),
    "fire_polish": Top(700.0, 480.0),
    "slump": Top(665.0, 900.0),
    "drape": Top(650.0, 600.0),
    "drop_out": Top(690.0, 2700.0),
    "cast": Top(855.0, 5400.0),
}


ROUND = 5.0
"""°C to which the top of a harder or softer glass is rounded; what comes to less than half of it is
no difference."""


def softening_shift(glass: Glass) -> float:
    """°C by which a process works hotter in this glass than in the usual one.

    Examples
    --------
    >>> round(softening_shift(Glass()))
    27
    """
    return SOFTENING_SHARE * (glass.softening_point - USUAL_SOFTENING_POINT)


def usual_top(process: str, glass: Glass) -> Top | None:
    """The top of a process in this glass; None where the maker's sheet must say.

    Examples
    --------
    >>> usual_top("full_fuse", Glass())
    Top(peak=830.0, hold=600.0)
    >>> usual_top("metal_clay", Glass()) is None
    True
    """
    top = TOPS.get(process)
    shift = softening_shift(glass)
    if top is None or abs(shift) < ROUND / 2:
        return top
    return Top(ROUND * round((top.peak + shift) / ROUND), top.hold)
