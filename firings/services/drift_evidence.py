"""Judged firings of several schedules, put on one scale for a thermocouple's drift."""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import log
from statistics import median

from firings.services.ageing import VERDICT_PER_DEGREE, JudgedPeak

DEGREES_PER_FOLD = 28.0
"""°C at the top of a full fuse that change heat work by a factor of e; see `VERDICT_PER_DEGREE`."""
VERDICT_PER_FOLD = VERDICT_PER_DEGREE * DEGREES_PER_FOLD
LEAST_OF_A_SCHEDULE = 3


@dataclass(frozen=True)
class JudgedFiring:
    """What the display said of one firing, and how it came out.

    Attributes
    ----------
    day : from any fixed day on
    schedule : names the schedule
    heat_work : 1/Pa by the display, above 0
    verdict : −2 well short … 0 as wanted … +2 well past
    """

    day: float
    schedule: Hashable
    heat_work: float
    verdict: float


def judged_peaks(judged: Sequence[JudgedFiring]) -> list[JudgedPeak]:
    """How far each firing lay from what its schedule needs, by its display.

    What a schedule needs is taken from its own firings: the median of the heat work that each
    would have needed by its verdict. Schedules of fewer than `LEAST_OF_A_SCHEDULE` firings are left
    out: of them nothing is known to drift from.

    Parameters
    ----------
    judged : of one kiln, in any order

    Examples
    --------
    >>> runs = [JudgedFiring(7.0 * n, "full fuse", 2.0, 0.0) for n in range(4)]
    >>> [each.peak_difference for each in judged_peaks(runs)]
    [0.0, 0.0, 0.0, 0.0]
    """
    by_schedule: dict[Hashable, list[JudgedFiring]] = defaultdict(list)
    for each in judged:
        by_schedule[each.schedule].append(each)
    peaks = []
    for firings in by_schedule.values():
        if len(firings) < LEAST_OF_A_SCHEDULE:
            continue
        need = median(log(each.heat_work) - each.verdict / VERDICT_PER_FOLD for each in firings)
        peaks += [
            JudgedPeak(each.day, (log(each.heat_work) - need) * DEGREES_PER_FOLD, each.verdict)
            for each in firings
        ]
    return peaks
