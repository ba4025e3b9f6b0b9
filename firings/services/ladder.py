"""The ladder of a test series: which peaks or holds to fire, so that the verdicts tell the most.

Source: our own model of verdicts, see `firings.services.verdict_model`.
"""

from dataclasses import dataclass
from math import ceil

from firings.services.decision import peak_limit_broken
from firings.services.evidence import LONGEST_HOLD, StepLimits
from firings.services.verdict_model import Beliefs
from firings.services.weighing import History

FARTHEST_MOVED = 100
"""Steps of the controller by which a ladder is moved to where kiln and process allow it."""
FEWEST_RUNGS, MOST_RUNGS, USUAL_RUNGS = 2, 12, 4


@dataclass(frozen=True)
class LadderSpan:
    """Evenly stepped rungs, from the first up: °C of peak, or s of hold.

    Attributes
    ----------
    first : of the lowest rung
    step : from rung to rung, above 0
    count : of rungs
    """

    first: float
    step: float
    count: int

    @property
    def values(self) -> tuple[float, ...]:
        return tuple(self.first + number * self.step for number in range(self.count))


def verdict_width(beliefs: Beliefs) -> float:
    """ln(heat work) from one verdict to the next, as expected of the slopes that are still likely.

    Examples
    --------
    >>> from firings.services.verdict_model import Doubt, infer
    >>> round(verdict_width(infer([], 0.0, Doubt(0.4, 0.3, 0.1), "A")), 3)
    0.26
    """
    weights = beliefs.probability.sum(axis=(0, 2))
    return float(weights @ (1.0 / beliefs.slopes))


def suggest_peaks(history: History, limits: StepLimits, count: int = USUAL_RUNGS) -> LadderSpan:
    """Peaks about one verdict apart, around what the schedule is thought to want.

    Assumes that a verdict is as wide as the schedule's own verdicts say, or where there are none
    as it is for the model's usual judge, some 7 °C at 804 °C. With 1 verdict between rungs, four of
    them span three: what is wanted lies between two of them in three of four cases beforehand.
    Where kiln or process end before, it is moved as a whole to the nearest place that they allow;
    where there is none, it is given as it would be. A step is never less than what the kiln repeats
    to, nor than the controller takes.

    Parameters
    ----------
    history : of the schedule in its kiln, see `weigh`
    limits : `peak_resolution` and `max_temperature` bind; the largest step of a note does not
    count : of rungs, 2 to 12

    Raises
    ------
    ValueError: for another count.

    Examples
    --------
    >>> from firings.services.evidence import Situation
    >>> from firings.services.weighing import weigh
    >>> from schedules.services.curve import Segment
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> suggest_peaks(weigh([], kiln), StepLimits(), 4)
    LadderSpan(first=794.0, step=7.0, count=4)
    """
    _require_count(count)
    terms, resolution = history.terms, limits.peak_resolution
    width = verdict_width(history.beliefs) / terms.per_degree
    least = max(terms.situation.repeatability, resolution)
    step = _rounded(max(width, least), resolution, least)
    wanted = float(terms.felt.peak_for(history.beliefs.wanted)) - terms.situation.offset
    lowest = round((wanted - terms.top.peak - (count - 1) / 2 * step) / resolution)
    for away in sorted(range(-FARTHEST_MOVED, FARTHEST_MOVED + 1), key=abs):
        change = (lowest + away) * resolution
        ends = change, change + (count - 1) * step
        if all(peak_limit_broken(terms, limits, end) is None for end in ends):
            return LadderSpan(terms.top.peak + change, step, count)
    return LadderSpan(terms.top.peak + lowest * resolution, step, count)


def suggest_holds(history: History, limits: StepLimits, count: int = USUAL_RUNGS) -> LadderSpan:
    """The same of holds, in s, at the schedule's own peak; the lowest is 0 at the least.

    One verdict is taken in holds at the hold that stands: lower rungs lie a little further apart in
    heat work than higher ones, as the preview of a ladder shows.

    Examples
    --------
    >>> from firings.services.evidence import Situation
    >>> from firings.services.weighing import weigh
    >>> from schedules.services.curve import Segment
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 1200.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> [round(hold / 60) for hold in suggest_holds(weigh([], kiln), StepLimits(), 4).values]
    [5, 15, 25, 35]
    """
    _require_count(count)
    terms, resolution = history.terms, limits.hold_resolution
    width = verdict_width(history.beliefs) / terms.per_second
    step = _rounded(width, resolution, resolution)
    centre = terms.top.hold + (history.beliefs.wanted - terms.own) / terms.per_second
    first = round((centre - (count - 1) / 2 * step) / resolution) * resolution
    highest = LONGEST_HOLD - (count - 1) * step
    return LadderSpan(float(max(min(first, highest), 0.0)), float(step), count)


def _require_count(count: int) -> None:
    if not FEWEST_RUNGS <= count <= MOST_RUNGS:
        raise ValueError(f"a ladder has {FEWEST_RUNGS} to {MOST_RUNGS} rungs")


def _rounded(step: float, resolution: float, least: float) -> float:
    """To whole steps of the controller, and not below the least."""
    whole = max(round(step / resolution), 1) * resolution
    return whole if whole >= least else ceil(least / resolution) * resolution
