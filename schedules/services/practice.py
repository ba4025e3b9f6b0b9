"""How fast pieces are first heated, and first cooled where they are thin, by common practice.

No source: cautious numbers that studios hand on; the glass maker's sheet wins.
"""

import numpy as np

FIRST_HEATING = ((0.006, 150.0), (0.012, 99.0), (0.019, 45.0), (0.025, 27.0))
"""Thickness in m and rate in °C/h; half of it for a tack fuse, whose parts heat unevenly."""
LARGE_PIECE = 2 / 3
"""Of the rate, for a piece that nearly fills the chamber."""


def heating_rate_of_practice(thickness: float, process: str, wide: bool = False) -> float:
    """The cautious first heating rate in °C/h for a thickness in m.

    Between the rows of `FIRST_HEATING` straight in the logarithms of both; above them as the
    square of the thickness falls, below them as the thickness does.

    Examples
    --------
    >>> round(heating_rate_of_practice(0.006, "slump"))
    150
    >>> round(heating_rate_of_practice(0.009, "tack_fuse"))
    59
    >>> round(heating_rate_of_practice(0.05, "full_fuse"), 1)
    6.8
    """
    thicknesses, rates = zip(*FIRST_HEATING, strict=True)
    if thickness < thicknesses[0]:
        rate = rates[0] * thicknesses[0] / thickness
    elif thickness > thicknesses[-1]:
        rate = rates[-1] * (thicknesses[-1] / thickness) ** 2
    else:
        rate = float(np.exp(np.interp(np.log(thickness), np.log(thicknesses), np.log(rates))))
    return rate * (0.5 if process == "tack_fuse" else 1.0) * (LARGE_PIECE if wide else 1.0)


FIRST_COOLING = ((0.006, 83.0), (0.012, 55.0))
"""Thickness in m and rate in °C/h after the soak, for pieces so thin that conduction is not what
limits them; the second row stands in a fusing glass maker's chart."""


def first_cooling_of_practice(thickness: float) -> float:
    """The fastest first cooling in °C/h that practice gives a thin piece; thickness in m.

    Straight in the logarithms through the two rows of `FIRST_COOLING`, level below them, and far
    above what conduction allows beyond them.

    Examples
    --------
    >>> [round(first_cooling_of_practice(0.001 * each)) for each in (3, 6, 9, 12)]
    [83, 83, 65, 55]
    """
    (thin, fast), (thick, slow) = FIRST_COOLING
    power = np.log(slow / fast) / np.log(thick / thin)
    return fast * float(max(thickness / thin, 1.0) ** power)
