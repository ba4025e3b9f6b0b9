"""Stress that passes with the temperature difference that makes it, against what glass bears.

On heating the middle of a piece is pulled by its faces, on cooling its faces by the middle, twice
as hard. Below the strain point nothing of it stays; but while it lasts it can break the piece.
"""

from dataclasses import dataclass

from schedules.services.conduction import steady_rate
from schedules.services.stress import biaxial_modulus
from studio.services.glass import Glass

CHARACTERISTIC_STRENGTH = 45e6
"""Pa: the bending strength of annealed float glass by EN 572-1 (memory), which one pane of twenty
falls short of."""
SAFETY_FACTOR = 3.0
"""Of the design strength below: for cut and scratched edges, and because glass bears less the
longer it is loaded; common practice, no source."""
DESIGN_STRENGTH = CHARACTERISTIC_STRENGTH / SAFETY_FACTOR
"""Pa of tension that a piece in a kiln should never see."""


@dataclass(frozen=True, slots=True)
class SteadyRateLimits:
    """The fastest steady rates, °C/h, whose passing tension stays at the strength asked for."""

    heating: float
    cooling: float


def steady_rate_limits(
    thickness: float, glass: Glass, faces: int = 1, strength: float = DESIGN_STRENGTH
) -> SteadyRateLimits:
    """How fast a slab below its strain point may be heated and cooled, by its strength alone.

    On a steady rate the middle plane bears E·α·ΔT/(3(1 − ν)) on heating, the face twice that on
    cooling. Edges, relief and uneven heat break pieces sooner: common practice stays far below.

    Parameters
    ----------
    thickness : m
    glass : see `Glass`
    faces : 1 or 2 faces that follow the kiln
    strength : Pa of tension that the glass may see

    Raises
    ------
    ValueError
        For a strength that is not positive; and as `steady_rate`.

    Examples
    --------
    >>> limits = steady_rate_limits(0.012, Glass())
    >>> round(limits.heating), round(limits.cooling)
    (1220, 610)
    """
    if not strength > 0:
        raise ValueError(f"A strength is above 0: {strength} Pa.")
    difference = strength / (biaxial_modulus(glass) * glass.expansion)
    return SteadyRateLimits(
        heating=steady_rate(3 * difference, thickness, glass, faces),
        cooling=steady_rate(1.5 * difference, thickness, glass, faces),
    )
