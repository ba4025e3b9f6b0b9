"""What a firing does to the glass, told in a few figures: temperature difference and stress."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from schedules.services.anneal_plan import StageRule
from schedules.services.annealing import COOLING_DIFFERENCE, FiringStress
from schedules.services.annealing_rules import DIFFERENCE_ALLOWED
from schedules.services.passing_stress import DESIGN_STRENGTH
from schedules.services.stress import steady_tension
from studio.services.glass import Glass

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Greatest:
    """The greatest of something: its size, the moment (s), and the face's temperature then (°C)."""

    size: float
    moment: float
    face: float


@dataclass(frozen=True, slots=True)
class GlassCourse:
    """The figures of a firing in which a slab is annealed; None for what is not in the series.

    Attributes
    ----------
    heating : °C by which the face leads the middle, while the glass is stiff
    settling : °C by which the middle leads the face, from the last soak on, while stress settles
    passing : the same below that, where stress only passes
    tension : Pa, the greatest anywhere in the slab
    tension_at_surface : whether that is at the face, or else in the middle
    left : Pa of tension that is left
    usual, most : Pa of it that a maker's table leaves, and beyond which a check speaks
    strength : Pa of tension that the piece should never see
    """

    heating: Greatest | None
    settling: Greatest | None
    passing: Greatest | None
    tension: Greatest
    tension_at_surface: bool
    left: float
    usual: float
    most: float
    strength: float = DESIGN_STRENGTH

    @property
    def is_little_left(self) -> bool:
        """Whether no more is left than a careful anneal leaves."""
        return self.left <= self.most

    @property
    def is_strained(self) -> bool:
        """Whether the tension comes above what the piece should see."""
        return self.tension.size > self.strength


def settled_below(glass: Glass) -> float:
    """°C below which what stress a piece keeps is settled: `StageRule.below_strain`.

    Examples
    --------
    >>> settled_below(Glass(493.0, 532.0, 677.0))
    448.0
    """
    return glass.strain_point - StageRule().below_strain


def glass_course(
    stress: FiringStress, glass: Glass, *, cools_from: float, one_piece_from: float = 0.0
) -> GlassCourse:
    """The figures of a firing.

    Parameters
    ----------
    stress : of the firing, see `stress_over`
    glass : see `Glass`
    cools_from : s at which the last soak ends; a fall to a soak is evened out by it
    one_piece_from : s from which on there is one piece: a casting begins as lumps, and beads go
        into a hot kiln

    Returns
    -------
    GlassCourse

    Examples
    --------
    >>> from schedules.services.annealing import stress_over
    >>> hours = [0.0, 4.0, 4.5, 7.5, 14.5]
    >>> stress = stress_over([3600 * h for h in hours], [20.0, 560.0, 560.0, 515.0, 60.0],
    ...                      0.025, Glass())
    >>> course = glass_course(stress, Glass(), cools_from=4.5 * 3600)
    >>> round(course.heating.size), round(course.settling.size), round(course.left / 1e6, 1)
    (28, 13, 1.6)
    >>> course.is_little_left, course.tension_at_surface
    (False, False)
    """
    times, faces = stress.stress.times, stress.faces
    stiff, settled = faces <= glass.annealing_point, faces < settled_below(glass)
    cooling, one_piece = times >= cools_from, times >= one_piece_from
    before_top = times <= times[int(np.argmax(faces))]
    tension = np.where(one_piece, stress.stress.tension, 0.0)
    worst = int(np.argmax(tension))
    middle, face = stress.stress.stresses[worst, [0, -1]]
    return GlassCourse(
        heating=_greatest(stress, -stress.differences, stiff & before_top & one_piece),
        settling=_greatest(stress, stress.differences, stiff & ~settled & cooling),
        passing=_greatest(stress, stress.differences, settled & cooling),
        tension=Greatest(float(tension[worst]), float(times[worst]), float(faces[worst])),
        tension_at_surface=bool(face > middle),
        left=stress.stress.residual_tension,
        usual=steady_tension(COOLING_DIFFERENCE, glass),
        most=steady_tension(DIFFERENCE_ALLOWED, glass),
    )


def _greatest(stress: FiringStress, sizes: Floats, counts: Flags) -> Greatest | None:
    if not counts.any():
        return None
    worst = int(np.argmax(np.where(counts, sizes, -np.inf)))
    size = max(float(sizes[worst]), 0.0)
    return Greatest(size, float(stress.stress.times[worst]), float(stress.faces[worst]))
