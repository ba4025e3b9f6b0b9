"""Where a firing lost its power and came back: valleys that the plan does not have."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.readings import Readings
from schedules.services.curve import Curve

Floats = NDArray[np.float64]

DEPTH = 15.0
"""°C of a valley, at least. Below an overshoot there may be one of some degrees."""
RIM = 4.0
"""°C below its rims at which a valley begins and ends."""
WINDOW = 90.0
"""s to both sides over which the course is smoothed."""


@dataclass(frozen=True)
class Interruption:
    """A stretch in which the kiln fell and had to come back, or nothing was read.

    Attributes
    ----------
    begin, end : s of the recording
    depth : °C of the fall as far as it was read, 0 where it wasn't
    """

    begin: float
    end: float
    depth: float


def find_interruptions(plan: Curve, readings: Readings) -> tuple[Interruption, ...]:
    """Find the valleys of a firing that was to go up once and come down once, and its gaps.

    A schedule with a valley of its own is looked at for gaps alone.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(200.0, 620.0, 600.0)], KilnResponse(1100.0, 7e3, 1e4))
    >>> times = np.arange(0.0, 14400.0, 60.0)
    >>> shown = np.interp(times, [0, 5400, 7200, 9000, 14400], [20, 320, 200, 320, 620])
    >>> [found] = find_interruptions(plan, Readings.of(Recording(times, shown)))
    >>> abs(found.begin - 5400) < 180, abs(found.end - 9000) < 180, found.depth > 110
    (True, True, True)
    """
    found = [Interruption(begin, end, 0.0) for begin, end in readings.gaps]
    if _goes_up_once(plan):
        for valley in _valleys(readings):
            # A gap within a valley is one story with it.
            found = [gap for gap in found if gap.end < valley.begin or gap.begin > valley.end]
            found.append(valley)
    return tuple(sorted(found, key=lambda each: each.begin))


def _goes_up_once(plan: Curve) -> bool:
    steps = np.diff([plan.start, *(segment.target for segment in plan.segments)])
    falling = np.flatnonzero(steps < 0)
    return falling.size == 0 or bool(np.all(steps[falling[0] :] <= 0))


def _valleys(readings: Readings) -> list[Interruption]:
    times = readings.times
    level, _ = readings.lines(times, max(WINDOW, 2 * readings.spacing))
    level = np.where(np.isfinite(level), level, readings.temperatures)
    before = np.maximum.accumulate(level)
    after = np.maximum.accumulate(level[::-1])[::-1]
    depth = np.minimum(before, after) - level
    inside = depth > RIM
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(np.int8)))
    valleys = []
    for first, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        deepest = float(depth[first:stop].max())
        if deepest > DEPTH:
            begin = times[max(first - 1, 0)]
            end = times[min(stop, times.size - 1)]
            valleys.append(Interruption(float(begin), float(end), deepest))
    return valleys
