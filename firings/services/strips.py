"""What a strip of glass that lay over a gap tells of its firing: it sags by heat work.

A bar that rests on two edges and bends under its own weight sags in its middle by
5·ρ·g·A·L⁴/(384·E·I); a viscous one does so at the rate that stands there with 3·η in place of E,
as glass flows without changing its volume. With A/I = 12/h² its sag is 5·ρ·g·L⁴/(96·h²) · ∫ dt/η:
proportional to heat work, whatever its width.

Sources, from memory: S. P. Timoshenko and J. M. Gere, Mechanics of Materials, for the bar; ASTM
C598, annealing point by beam bending, for the same with a weight hung on it.
"""

from dataclasses import dataclass

GRAVITY = 9.80665
"""m/s²; the standard one, ISO 80000-3."""
MOST_SAG = 0.1
"""Of the gap, up to which the formula holds: there the ends slope by 3.2 · 0.1 = 0.32, and what it
leaves out, the square of that, comes to a tenth of the heat work."""
LEAST_SAG_MM = 1.0
"""Less is lost in reading it."""


class SagError(ValueError):
    """A sag that tells nothing: below what is read surely, or too deep for the formula."""


@dataclass(frozen=True)
class Strip:
    """A strip over a gap.

    Attributes
    ----------
    thickness : mm
    gap : mm between the edges that it lies on
    density : kg/m³ of its glass
    """

    thickness: float
    gap: float
    density: float = 2500.0

    def __post_init__(self) -> None:
        if not (self.thickness > 0 and self.gap > 0 and self.density > 0):
            raise ValueError("Thickness, gap and density of a strip are above 0.")

    @property
    def deepest(self) -> float:
        """mm of sag up to which it tells of heat work."""
        return MOST_SAG * self.gap

    def heat_work(self, sag: float) -> float:
        """The heat work behind a sag.

        Parameters
        ----------
        sag : mm in the middle, from the straight strip

        Returns
        -------
        ∫ dt/η in 1/Pa.

        Raises
        ------
        SagError
            Below `LEAST_SAG_MM` and beyond `deepest`.

        Examples
        --------
        >>> round(Strip(3.0, 60.0).heat_work(3.0) * 1e6, 2)
        1.63
        """
        if not LEAST_SAG_MM <= sag <= self.deepest:
            raise SagError(f"{sag:g} mm is no sag between {LEAST_SAG_MM:g} and {self.deepest:g} mm")
        height, gap, fallen = (each / 1000.0 for each in (self.thickness, self.gap, sag))
        return 96.0 * height**2 * fallen / (5.0 * self.density * GRAVITY * gap**4)
