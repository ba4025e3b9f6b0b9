"""The thickness for which to anneal a piece that is no even slab.

Common practice, no source: cautious factors, and two rules of the trade that differ. Both are
given, so that a page can show which was used.
"""

from dataclasses import dataclass

UNEVEN_FACTORS = {"contour_fuse": 1.5, "tack_fuse": 2.0}
"""Times the thickest point, where parts of a piece stand proud of it: the softer their edges, the
less. A sharp tack or a sinter takes `SHARP_FACTOR`."""
SHARP_FACTOR = 2.5
"""Times the thickest point, for parts that only just stick."""
EVEN_WITHIN = 1.25
"""A piece whose thickest is no more than this many times its thinnest counts as even."""
WIDE_FACTOR = 1.2
"""Times the thickness, where a piece is wider than `LARGE_SHARE` of the chamber: its rim is nearer
to the elements, or to the wall, than its middle."""
LARGE_SHARE = 0.9
"""Of the chamber's inside: from here on a piece counts as large for the kiln."""


@dataclass(frozen=True, slots=True)
class AnnealThickness:
    """Thicknesses in m for which to anneal, by either rule.

    Attributes
    ----------
    by_factor : the thickest point times the factor of its process
    by_difference : the thickest point plus the difference to the thinnest
    wide : whether the factor for wide pieces is in both
    """

    by_factor: float
    by_difference: float
    wide: bool

    @property
    def cautious(self) -> float:
        """The greater of the two, m."""
        return max(self.by_factor, self.by_difference)


def anneal_thickness(
    thickest: float,
    thinnest: float,
    process: str,
    *,
    sharp: bool = False,
    share_of_chamber: float = 0.0,
) -> AnnealThickness:
    """For what thickness to anneal.

    Parameters
    ----------
    thickest, thinnest : m, as the piece comes out
    process : code of the process; a contour or tack fuse leaves parts proud of the piece
    sharp : whether those parts only just stick
    share_of_chamber : the piece's width or length over the chamber's, whichever is more

    Raises
    ------
    ValueError
        When the two are not in order, or not positive.

    Examples
    --------
    >>> uneven = anneal_thickness(0.009, 0.006, "tack_fuse")
    >>> round(1000 * uneven.by_factor), round(1000 * uneven.by_difference)
    (18, 12)
    >>> even = anneal_thickness(0.006, 0.006, "full_fuse")
    >>> round(1000 * even.cautious), even.wide
    (6, False)
    """
    if not 0 < thinnest <= thickest:
        raise ValueError(
            f"The thinnest point is above 0 and no thicker than the thickest: "
            f"{thinnest} m, {thickest} m."
        )
    if thickest <= EVEN_WITHIN * thinnest:
        factor = 1.0
    elif process in UNEVEN_FACTORS and sharp:
        factor = SHARP_FACTOR
    else:
        factor = UNEVEN_FACTORS.get(process, 1.0)
    wide = share_of_chamber > LARGE_SHARE
    extra = WIDE_FACTOR if wide else 1.0
    return AnnealThickness(extra * factor * thickest, extra * (2 * thickest - thinnest), wide)
