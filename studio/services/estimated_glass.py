"""A glass of which not all points are known: what is taken for the others, and from what.

Sheets often name only an annealing point. The others lie at much the same distance from it in
all the soda-lime and lead glasses that a studio fires; a calculation with them is an estimate, and
says so.
"""

from dataclasses import dataclass, field

from studio.services.glass import Glass

STRAIN_BELOW_ANNEALING = 37.0
"""°C: of the float glass whose data sheet is `Glass`'s default (read). The equilibrium viscosity of
the standard soda-lime and lead glasses would put it 27 to 30 °C below; being measured out of
equilibrium, strain points lie lower, and the lower one is the cautious one for cooling."""
SOFTENING_ABOVE_ANNEALING = 175.0
"""°C: the mean of SRM 710, 710a and 711 and of DGG I (A. Fluegel, Glass Technology 48 (2007) 13–30,
table 12; read: 169, 186, 171 and 182) and of that float glass (167). Each lies within 11 °C of it;
borosilicates lie 30 °C and more beyond."""
ANNEALING_ABOVE_SOAK = 10.0
"""°C by which the annealing point is taken to lie above a maker's soak where nothing else is known:
soaks lie at it or below it; common practice, no source."""

POINTS = ("strain_point", "annealing_point", "softening_point")


@dataclass(frozen=True)
class EstimatedGlass:
    """A glass with what was assumed of it.

    Attributes
    ----------
    glass : see `Glass`
    taken_from : which known value the unknown points were worked out from: "annealing_point",
        "strain_point", "softening_point", "strain_and_softening", "anneal_soak"; "soda_lime" where
        nothing is known; "" where nothing was assumed
    unknown : names of the points that were not known, in rising order
    """

    glass: Glass = field(default_factory=Glass)
    taken_from: str = "soda_lime"
    unknown: tuple[str, ...] = POINTS

    @property
    def assumed(self) -> dict[str, float]:
        """The points that were not known, with what was taken for them, °C."""
        return {name: getattr(self.glass, name) for name in self.unknown}


def estimated_glass(
    strain_point: float | None = None,
    annealing_point: float | None = None,
    softening_point: float | None = None,
    *,
    anneal_soak: float | None = None,
    expansion: float | None = None,
) -> EstimatedGlass:
    """A glass from what is known of it.

    The annealing point tells the other two; the strain or the softening point tells it first. With
    both of these, it divides the way between them as it does in other glasses. Without any point
    the maker's soak stands for them, and without that the glass is plain soda-lime.

    Parameters
    ----------
    strain_point, annealing_point, softening_point : °C, or None where they are not known
    anneal_soak : °C, from the maker's sheet, or None; looked at only without any point
    expansion : linear, 1/K, or None for that of soda-lime

    Returns
    -------
    EstimatedGlass; what was known is in it unchanged.

    Raises
    ------
    ValueError
        As `Glass`: where known points are not in rising order.

    Source: see the constants of this module.

    Examples
    --------
    >>> found = estimated_glass(annealing_point=548.0)
    >>> found.taken_from, found.assumed
    ('annealing_point', {'strain_point': 511.0, 'softening_point': 723.0})
    >>> estimated_glass().taken_from
    'soda_lime'
    """
    known = (strain_point, annealing_point, softening_point)
    unknown = tuple(name for name, value in zip(POINTS, known, strict=True) if value is None)
    thermal = {} if expansion is None else {"expansion": expansion}
    if len(unknown) == len(POINTS) and anneal_soak is None:
        return EstimatedGlass(Glass(**thermal), "soda_lime", unknown)
    annealing, taken_from = _annealing_point(*known, anneal_soak)
    glass = Glass(
        strain_point=annealing - STRAIN_BELOW_ANNEALING if strain_point is None else strain_point,
        annealing_point=annealing,
        softening_point=(
            annealing + SOFTENING_ABOVE_ANNEALING if softening_point is None else softening_point
        ),
        **thermal,
    )
    return EstimatedGlass(glass, taken_from if unknown else "", unknown)


def _annealing_point(
    strain: float | None, annealing: float | None, softening: float | None, soak: float | None
) -> tuple[float, str]:
    """°C, and what it or the other points are taken from."""
    if annealing is not None:
        return annealing, "annealing_point"
    if strain is not None and softening is not None:
        share = STRAIN_BELOW_ANNEALING / (STRAIN_BELOW_ANNEALING + SOFTENING_ABOVE_ANNEALING)
        return strain + share * (softening - strain), "strain_and_softening"
    if strain is not None:
        return strain + STRAIN_BELOW_ANNEALING, "strain_point"
    if softening is not None:
        return softening - SOFTENING_ABOVE_ANNEALING, "softening_point"
    assert soak is not None  # noqa: S101 - the caller has looked
    return soak + ANNEALING_ABOVE_SOAK, "anneal_soak"
