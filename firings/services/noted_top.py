"""The top of a firing by its peak and hold alone, held against the plan.

A schedule's page asks this of all its firings, again and again: what a plan comes to is kept.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from firings.services.top import find_top, with_top
from schedules.services.curve import Curve, Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

PEAK_TOLERANCE = 5.0
"""°C at the top beyond which the kiln missed the plan (common practice, no source)."""
HOLD_TOLERANCE = 300.0
"""s of hold beyond which it did (common practice, no source)."""
CURVES_KEPT, HEAT_WORKS_KEPT = 512, 4096
"""Of some 5 kB and 1 kB each."""


@dataclass(frozen=True)
class NotedTop:
    """A peak and a hold at the top, held against a plan that the kiln reaches.

    Parameters
    ----------
    plan : in display temperatures
    peak : °C, None where nobody knows it
    hold : s at the top, None likewise
    glass : see `Glass`

    Examples
    --------
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0)
    >>> plan = kept_curve((Segment(200.0, 804.0, 600.0),), kiln)
    >>> seen = NotedTop(plan, 797.0, None, Glass())
    >>> seen.missed_plan, round(seen.heat_work_ratio, 2)
    (True, 0.78)
    """

    plan: Curve
    peak: float | None
    hold: float | None
    glass: Glass

    @property
    def missed_plan(self) -> bool:
        """Whether the kiln did something else than was planned, at the top."""
        planned = find_top(self.plan.segments).hold
        return misses_plan(
            None if self.peak is None else self.peak - self.plan.peak,
            None if self.hold is None else self.hold - planned,
        )

    @property
    def heat_work_ratio(self) -> float | None:
        """Recorded over planned; None without a peak, or with one that can't be of this plan."""
        if self.peak is None:
            return None
        return ratio_by_the_top(self.plan, self.peak, self.hold, self.glass)


def misses_plan(peak_difference: float | None, hold_difference: float | None) -> bool:
    """Whether a difference at the top, °C and s, means that the kiln did something else.

    Examples
    --------
    >>> misses_plan(-4.0, None), misses_plan(None, 360.0)
    (False, True)
    """
    return (
        abs(peak_difference or 0.0) > PEAK_TOLERANCE or abs(hold_difference or 0.0) > HOLD_TOLERANCE
    )


def ratio_by_the_top(plan: Curve, peak: float, hold: float | None, glass: Glass) -> float | None:
    """The plan's heat work with another peak (°C) and hold (s) at its top, over the plan's.

    Without a hold, with the plan's own. None where the peak can't be of this plan: another target
    would be above it, or the kiln does not reach it.

    Examples
    --------
    >>> plan = kept_curve((Segment(200.0, 804.0, 600.0),), KilnResponse(1100.0, 7200.0, 10800.0))
    >>> ratio_by_the_top(plan, 804.0, 600.0, Glass())
    1.0
    """
    top = find_top(plan.segments)
    target = top.peak + peak - plan.peak
    others = [s.target for i, s in enumerate(plan.segments) if i != top.index]
    if target <= max(others, default=-np.inf) or not plan.response.reaches(target):
        return None
    changed = with_top(plan.segments, target, top.hold if hold is None else hold)
    return kept_heat_work(tuple(changed), plan.response, plan.start, glass) / kept_heat_work(
        plan.segments, plan.response, plan.start, glass
    )


@lru_cache(maxsize=CURVES_KEPT)
def kept_curve(segments: tuple[Segment, ...], response: KilnResponse) -> Curve:
    """`planned_curve`, kept for whoever asks again."""
    return planned_curve(segments, response)


@lru_cache(maxsize=HEAT_WORKS_KEPT)
def kept_heat_work(
    segments: tuple[Segment, ...], response: KilnResponse, start: float, glass: Glass
) -> float:
    """1/Pa of a plan from `start` (°C), kept for whoever asks again.

    Raises
    ------
    ValueError
        For a plan that the kiln does not reach.

    Examples
    --------
    >>> fuse, kiln = (Segment(200.0, 804.0, 600.0),), KilnResponse(1100.0, 7200.0, 10800.0)
    >>> kept_heat_work(fuse, kiln, 20.0, Glass()) == planned_curve(fuse, kiln).heat_work(Glass())
    True
    """
    return planned_curve(segments, response, start).heat_work(glass)
