"""What a slab's thickness asks of its anneal: how long a soak, and three stages of cooling."""

from dataclasses import dataclass
from math import log

from schedules.services.annealing import COOLING_DIFFERENCE, cooling_rate_limit
from schedules.services.conduction import evening_time, steady_difference
from schedules.services.stress import plane_relaxation_time
from studio.services.glass import Glass
from studio.services.kiln_response import SECONDS_PER_HOUR

SOAK_PER_METRE = 4 * SECONDS_PER_HOUR / 0.0254
"""s of soak for each metre of thickness: four hours an inch, as two makers' charts have it (a
casting crystal's, read; a fusing glass's, memory but for its cooling rates)."""
ARRIVAL_RATE = 300.0
"""°C/h at which a kiln falls to the soak, where nothing is known of it; common practice, no
source."""
ROOM = 21.0
"""°C at which the makers' charts end."""


@dataclass(frozen=True, slots=True)
class SoakLength:
    """Why a soak takes as long as it does; all in s.

    Attributes
    ----------
    evening : until the middle is as near to the face as it will be on cooling
    relaxing : until the stress of that evening out has flowed away, to what cooling leaves anyhow
    practice : four hours an inch
    """

    evening: float
    relaxing: float
    practice: float

    @property
    def needed(self) -> float:
        """The longer of what the calculation and practice ask, s."""
        return max(self.evening + self.relaxing, self.practice)


def soak_length(
    thickness: float,
    glass: Glass,
    temperature: float,
    faces: int = 1,
    *,
    arrival_rate: float = ARRIVAL_RATE,
    temperature_difference: float = COOLING_DIFFERENCE,
) -> SoakLength:
    """How long a slab is held so that it is even and its stress has relaxed.

    It arrives with the difference of a steady rate. Evening that out makes at most the tension of
    `steady_tension`, which then decays with the relaxation time at the soak. What the cooling after
    it brings anyhow, in difference and in stress, need not be waited for.

    Parameters
    ----------
    thickness : m
    glass : see `Glass`
    temperature : of the soak, °C
    faces : 1 or 2
    arrival_rate : °C/h at which the face falls to the soak
    temperature_difference : °C that the cooling after the soak will keep to

    Examples
    --------
    >>> soak = soak_length(0.025, Glass(), 548.0)
    >>> round(soak.evening / 60), round(soak.relaxing / 60), round(soak.needed / 3600, 1)
    (30, 3, 3.9)
    """
    arrives = steady_difference(arrival_rate, thickness, glass, faces)
    evening = evening_time(arrives, temperature_difference, thickness, glass, faces)
    decades = max(arrives / temperature_difference, 1.0)
    relaxing = float(plane_relaxation_time(temperature, glass)) * log(decades)
    return SoakLength(evening, relaxing, SOAK_PER_METRE * thickness)


@dataclass(frozen=True, slots=True)
class StageRule:
    """Where the three stages of cooling end, and how much faster the later ones are.

    Attributes
    ----------
    first_drop : °C from the soak to the end of the first stage, at least
    below_strain : °C below the strain point at which the first stage ends, at least: there the
        relaxation time is past a day, and what stress the piece keeps is settled
    second_drop : °C of the second stage
    second, third : rates over that of the first; in them stress is only passing
    """

    first_drop: float = 55.0
    below_strain: float = 45.0
    second_drop: float = 56.0
    second: float = 1.8
    third: float = 6.0

    def first_end(self, soak: float, glass: Glass) -> float:
        """°C at which the first stage ends after a soak at `soak` °C."""
        return min(soak - self.first_drop, glass.strain_point - self.below_strain)


@dataclass(frozen=True, slots=True)
class CoolingStage:
    """From `start` to `end`, °C, at `rate`, °C/h."""

    start: float
    end: float
    rate: float

    @property
    def duration(self) -> float:
        """s."""
        return (self.start - self.end) / self.rate * SECONDS_PER_HOUR


def cooling_stages(
    thickness: float,
    glass: Glass,
    soak: float,
    faces: int = 1,
    *,
    temperature_difference: float = COOLING_DIFFERENCE,
    rule: StageRule | None = None,
    end: float = ROOM,
) -> tuple[CoolingStage, CoolingStage, CoolingStage]:
    """The longest safe stages after the soak, by thickness.

    The first keeps to `temperature_difference` until stress is settled, the later ones are faster
    by the factors of `rule`, whose defaults are those of a fusing glass maker's chart.

    Parameters
    ----------
    thickness : m
    glass : see `Glass`
    soak : its temperature, °C
    faces : 1 or 2
    temperature_difference : °C through the slab in the first stage
    rule : see `StageRule`
    end : °C at which the third stage ends

    Raises
    ------
    ValueError
        Where the second stage would end below `end`; and as `cooling_rate_limit`.

    Examples
    --------
    >>> glass = Glass(493.0, 532.0, 677.0)
    >>> [(round(s.end), round(s.rate, 1)) for s in cooling_stages(0.025, glass, 482.0)]
    [(427, 15.0), (371, 27.1), (21, 90.2)]
    """
    rule = StageRule() if rule is None else rule
    rate = cooling_rate_limit(thickness, glass, faces, temperature_difference)
    first = rule.first_end(soak, glass)
    second = first - rule.second_drop
    if not second > end:
        raise ValueError(f"The second stage ends at {second} °C, which is not above {end} °C.")
    return (
        CoolingStage(soak, first, rate),
        CoolingStage(first, second, rate * rule.second),
        CoolingStage(second, end, rate * rule.third),
    )
