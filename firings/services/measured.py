"""What a measurement of a kiln showed, place by place, as temperatures of the glass.

Three means: a second thermometer that is read in a hold, witness tiles that are judged by look, and
strips of glass that sag over a gap. Each reading has a doubt of its own, and all of one measurement
share that of what measured them: it moves the offset, and no place against another.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from math import hypot, log, sqrt

from firings.services.strips import Strip
from firings.services.verdict_model import SLOPE_SPREAD, TYPICAL_NOISE, TYPICAL_SLOPE
from studio.services.glass import Glass, fluidity

READING_DOUBT = 1.0
"""°C, standard deviation: a display goes up and down around its hold, and two are never read at
once (common practice, no source)."""
SAG_DOUBT_MM = 0.3
"""Standard deviation of a sag that is read to half a millimetre."""
STRIP_DOUBT = 0.05
"""Standard deviation of ln(heat work) from strip to strip: equal to a fortieth in thickness."""
GAUGE_DOUBT_MM, GAP_DOUBT_MM = 0.05, 0.3
"""Standard deviations of the thickness and of the gap that all strips of one measurement share."""
DEVIATIONS = 2.0
"""Standard deviations that hold 95 of 100, rounded up."""
GLASS_DOUBT = 4.0
"""°C, standard deviation, by which a glass softens beside its sheet (our own estimate)."""


@dataclass(frozen=True)
class Seen:
    """What one place showed.

    Attributes
    ----------
    place : names it; None for the reference place
    glass : °C to which glass came there
    doubt : standard deviation of its own, °C
    """

    place: Hashable
    glass: float
    doubt: float


@dataclass(frozen=True)
class SeenRange:
    """Hottest less coldest place in one measurement, and ± what holds 95 of 100; °C."""

    value: float
    spread: float


@dataclass(frozen=True)
class Measured:
    """One measurement.

    Attributes
    ----------
    day : from any fixed day on
    display : °C that the kiln's own display showed, or the peak of the firing
    seen : see `Seen`
    shared : standard deviation, °C, of what they have in common; None where they tell only how the
        places differ, and nothing of the display
    instrument : names what measured; its error is the same the next time
    """

    day: float
    display: float
    seen: tuple[Seen, ...]
    shared: float | None
    instrument: Hashable

    @property
    def range(self) -> SeenRange | None:
        """Hottest less coldest place; None where it was one place.

        Of several that were read with doubt it comes out the wider.
        """
        if len(self.seen) < 2:
            return None
        hottest = max(self.seen, key=lambda one: one.glass)
        coldest = min(self.seen, key=lambda one: one.glass)
        doubt = hypot(hottest.doubt, coldest.doubt)
        return SeenRange(hottest.glass - coldest.glass, DEVIATIONS * doubt)


def per_degree(temperature: float, glass: Glass) -> float:
    """By how much ln(heat work) grows with 1 °C in a hold at this temperature.

    Examples
    --------
    >>> round(1 / per_degree(804.0, Glass()))
    31
    """
    return log(fluidity(temperature + 0.5, glass) / fluidity(temperature - 0.5, glass))


def by_thermometer(
    day: float,
    display: float,
    shown: Mapping[Hashable, float],
    tolerance: float,
    instrument: Hashable,
) -> Measured:
    """A second thermometer, read in a hold.

    Parameters
    ----------
    shown : °C by place
    tolerance : ± °C of the thermometer. Anything within is taken as equally likely: its standard
        deviation is a √3rd (JCGM 100:2008, 4.3.7)

    Examples
    --------
    >>> read = by_thermometer(0.0, 800.0, {None: 806.0}, 3.0, "probe")
    >>> read.seen[0].glass - read.display, round(read.shared, 2)
    (6.0, 1.73)
    """
    seen = tuple(Seen(place, value, READING_DOUBT) for place, value in shown.items())
    return Measured(day, display, seen, tolerance / sqrt(3.0), instrument)


def by_tiles(
    day: float,
    display: float,
    states: Mapping[Hashable, int],
    glass: Glass,
    instrument: Hashable,
    *,
    wanted_at: float | None = None,
    tolerance: float = 0.0,
) -> Measured:
    """Equal witness tiles, each judged by look on the scale of the verdicts.

    Parameters
    ----------
    states : −2 well short … 0 as such a tile is meant to look … +2 well past, by place
    glass : of the tiles
    wanted_at : °C at which such a tile comes to look as it is meant to, after a hold like this one;
        None where nobody knows
    tolerance : ± °C of that

    Raises
    ------
    ValueError: for a state beyond −2 or +2.

    Examples
    --------
    >>> tiles = by_tiles(0.0, 804.0, {"a": 0, "b": -1}, Glass(), "tiles")
    >>> [round(each.glass, 1) for each in tiles.seen], [round(each.doubt, 1) for each in tiles.seen]
    ([804.0, 796.4], [3.2, 3.9])
    """
    centre = display if wanted_at is None else wanted_at
    step = 1.0 / (TYPICAL_SLOPE * per_degree(centre, glass))
    # A state is a whole number, which leaves open a twelfth of a step squared.
    looked = sqrt(TYPICAL_NOISE**2 + 1.0 / 12.0) * step
    seen = []
    for place, state in states.items():
        if not -2 <= state <= 2:
            raise ValueError(f"{state} is no state of a tile: they go from −2 to 2")
        away = state * step
        seen.append(Seen(place, centre + away, hypot(looked, SLOPE_SPREAD * away)))
    shared = None if wanted_at is None else tolerance / sqrt(3.0)
    return Measured(day, display, tuple(seen), shared, instrument)


def by_strips(
    day: float,
    display: float,
    sags: Mapping[Hashable, float],
    strip: Strip,
    glass: Glass,
    instrument: Hashable,
    *,
    heat_work: float | None = None,
    heat_work_doubt: float = 0.0,
) -> Measured:
    """Equal strips over equal gaps.

    Parameters
    ----------
    display : °C of the display at the top of that firing
    sags : mm by place
    strip, glass : of all of them
    heat_work : 1/Pa that the same glass had by the display; None where it is not known
    heat_work_doubt : standard deviation of its logarithm

    Raises
    ------
    SagError: for a sag that tells nothing.

    Examples
    --------
    >>> fired = by_strips(0.0, 620.0, {"a": 3.0, "b": 2.0}, Strip(3.0, 60.0), Glass(), "strips")
    >>> round(fired.seen[1].glass - fired.seen[0].glass, 1)
    -5.4
    """
    degree = per_degree(display, glass)
    works = {place: log(strip.heat_work(sag)) for place, sag in sags.items()}
    centre = sum(works.values()) / len(works) if heat_work is None else log(heat_work)
    seen = tuple(
        Seen(
            place,
            display + (work - centre) / degree,
            hypot(SAG_DOUBT_MM / sags[place], STRIP_DOUBT) / degree,
        )
        for place, work in works.items()
    )
    gauged = hypot(2 * GAUGE_DOUBT_MM / strip.thickness, 4 * GAP_DOUBT_MM / strip.gap)
    shared = hypot(GLASS_DOUBT, hypot(gauged, heat_work_doubt) / degree)
    return Measured(day, display, seen, None if heat_work is None else shared, instrument)
