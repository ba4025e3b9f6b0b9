"""Whether a firing was stopped before its plan was done, and the kiln left to cool by itself.

A kiln that is switched off cools ever more slowly. So the last stretch in which it never cools
faster than before is free cooling; where the plan still had a hold or a slower way down in it, it
was stopped.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firings.services.readings import Readings
from firings.services.segment_finding import Finding, FoundSegment
from schedules.services.curve import Curve
from studio.services.kiln_response import SECONDS_PER_HOUR

Floats = NDArray[np.float64]

WINDOW = 600.0
"""s to both sides over which a rate of cooling is taken."""
STEP = 120.0
EASING = 0.85
"""Share of what is still to come that a free fall has at least: it eases, but for noise."""
SURELY = 4.0
"""Standard errors of a rate by which two of them differ for certain."""
LEAST_FALL = 100.0
"""°C that a free cooling was followed over, at least, to be told by."""
BELOW = 100.0
"""°C below the plan's last target down to which it is looked at; twice that of a cooler top."""
LEAST_HOLD = 900.0
"""s of a planned hold whose absence says that nobody held it."""
LEAST_HELD = 300.0
"""s below which such a hold counts as absent."""
SOONER = 0.9
"""Share of the planned time within which a stopped kiln is at the plan's last target."""
FASTER = 1.5
"""Times the asked rate from which a fall is not the asked one."""


@dataclass(frozen=True)
class Stop:
    """Where a firing was stopped.

    Attributes
    ----------
    moment : s of the recording, good to some minutes
    temperature : °C at that time
    segment : the last that was begun
    """

    moment: float
    temperature: float
    segment: int


def find_stop(plan: Curve, readings: Readings, finding: Finding) -> Stop | None:
    """Where the kiln was left to cool although the plan had not ended, or None.

    Parameters
    ----------
    plan : see `Curve`
    readings, finding : of the recording

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> from firings.services.segment_finding import find_segments
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1250.0, 5000.0, 9000.0)
    >>> whole = [Segment(300.0, 804.0, 900.0), Segment(None, 510.0, 3600.0), Segment(55.0, 427.0)]
    >>> fired = planned_curve(whole[:1], kiln)
    >>> times = np.arange(0.0, 40000.0, 30.0)
    >>> seen, plan = Readings.of(Recording(times, fired.at(times))), planned_curve(whole, kiln)
    >>> stop = find_stop(plan, seen, find_segments(plan, seen))
    >>> stop.segment, abs(stop.moment - fired.duration) < 60.0
    (0, True)
    """
    highest = float(readings.temperatures.max())
    begin = _free_since(readings, min(plan.segments[-1].target, highest - BELOW) - BELOW)
    if begin is None:
        return None
    ends = [one.hold_end for one in finding.segments]
    open_ones = [i for i, end in enumerate(ends) if end is None or end > begin]
    if not open_ones:
        return None
    index = last = open_ones[0]
    moment = begin
    began = finding.segments[index].ramp_start
    if began is None or began > begin - 2 * WINDOW:
        # It was let go where the segment before ended, not in this one.
        last, ended = _last_before(finding, index)
        moment = begin if ended is None else ended
    if last < 0 or not _denied(plan, readings, finding, last, begin):
        return None
    if not _sooner(plan, readings, last, moment):
        return None
    return Stop(moment, _level(readings, moment), last)


def stop_on_record(plan: Curve, readings: Readings, finding: Finding, moment: float) -> Stop | None:
    """The stop that somebody noted; it counts although the readings alone would not tell it.

    Parameters
    ----------
    plan : see `Curve`
    readings, finding : of the recording
    moment : s of the recording at which it was noted

    Returns
    -------
    Stop, or None where it says nothing of these readings: noted outside them, before the firing
    was seen to begin, or when the plan had come to its end.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> from firings.services.segment_finding import find_segments
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(300.0, 804.0, 1800.0)], KilnResponse(1250.0, 5000.0, 9000.0))
    >>> times = np.arange(0.0, 20000.0, 30.0)
    >>> seen = Readings.of(Recording(times, plan.at(times)))
    >>> met = plan.spans[0].hold_start
    >>> stop = stop_on_record(plan, seen, find_segments(plan, seen), met + 600.0)
    >>> stop.segment, round(stop.temperature)
    (0, 804)
    """
    if not readings.times[0] <= moment <= readings.times[-1]:
        return None
    ended = finding.segments[-1].hold_end
    if ended is not None and ended <= moment:
        return None
    begun = [
        index
        for index, one in enumerate(finding.segments)
        if one.ramp_start is not None and one.ramp_start <= moment
    ]
    if not begun:
        return None
    return Stop(moment, _level(readings, moment), begun[-1])


def without_what_follows(finding: Finding, stop: Stop) -> Finding:
    """The finding with nothing found after a stop: a free fall through a target is none of it."""
    kept = finding.segments[: stop.segment + 1]
    at = kept[-1]
    if at.hold_end is not None and at.hold_end > stop.moment:
        met = at.hold_start if at.hold_start is not None and at.hold_start < stop.moment else None
        kept = (*kept[:-1], FoundSegment(at.ramp_start, met, stop.moment))
    rest = (FoundSegment(),) * (len(finding.segments) - len(kept))
    return replace(finding, segments=(*kept, *rest))


def _free_since(readings: Readings, until: float) -> float | None:
    """s since which the kiln only cools, ever more slowly, until it is below a temperature."""
    last = float(readings.times[-1])
    at = np.arange(float(readings.times[0]) + WINDOW, last - WINDOW, STEP)
    if at.size < 5:
        return None
    half = max(WINDOW, 2 * readings.spacing)
    level, slope = readings.lines(at, half, least=3)
    known = np.isfinite(slope)
    at, level, fall = at[known], level[known], -slope[known] * SECONDS_PER_HOUR
    warm = np.flatnonzero(level > until)
    # Colder, what a fall eases by is less than the noise.
    stop = int(warm[-1]) + 1 if warm.size else 0
    at, level, fall = at[:stop], level[:stop], fall[:stop]
    if at.size < 5:
        return None
    later = np.maximum.accumulate(fall[::-1])[::-1]
    # The standard error of a slope over n points of a window.
    count = max(2 * half / readings.spacing, 2.0)
    error = readings.noise * np.sqrt(12.0 / count) / (2 * half) * SECONDS_PER_HOUR
    broken = np.flatnonzero(fall < EASING * later - SURELY * error)
    first = int(broken[-1]) + 1 if broken.size else 0
    if first >= at.size or level[first] - level[-1] < LEAST_FALL:
        return None
    return float(at[first])


def _last_before(finding: Finding, index: int) -> tuple[int, float | None]:
    """The last found segment before another, and when it ended."""
    for earlier in range(index - 1, -1, -1):
        ended = finding.segments[earlier].hold_end
        if ended is not None:
            return earlier, ended
    return -1, None


def _denied(plan: Curve, readings: Readings, finding: Finding, last: int, begin: float) -> bool:
    """Whether what the plan still had is not what a free fall does."""
    coldest = float(readings.temperatures[-1])
    for index in range(last, len(plan.segments)):
        segment, one = plan.segments[index], finding.segments[index]
        if segment.target < coldest:
            return False  # The readings end before the plan does.
        held = 0.0
        if one.hold_start is not None and one.hold_end is not None:
            held = one.hold_end - one.hold_start
        if segment.hold >= LEAST_HOLD and held < LEAST_HELD:
            return True
        if index == last:
            continue
        origin = plan.segments[index - 1].target
        if segment.target > origin:
            return True
        if segment.rate is not None and _fall(readings, origin, segment.target, begin) > (
            FASTER * segment.rate
        ):
            return True
    return False


def _sooner(plan: Curve, readings: Readings, last: int, moment: float) -> bool:
    """Whether the kiln fell to the last target in much less time than the rest was planned to take.

    Where it took as long, a clock ran on while a slow kiln came down, or a failure of the power
    gained some minutes.
    """
    if last >= len(plan.spans) or plan.unreached is not None or last == len(plan.segments) - 1:
        return True
    planned = plan.spans[-1].hold_end - plan.spans[last].hold_end
    times, shown = readings.between(moment, float(readings.times[-1]))
    there = np.flatnonzero(shown <= plan.segments[-1].target)
    if not there.size:
        return False
    return float(times[there[0]]) - moment < SOONER * planned


def _fall(readings: Readings, high: float, low: float, since: float) -> float:
    """°C/h at which the kiln fell from one temperature to another, after a moment."""
    times, shown = readings.between(since, float(readings.times[-1]))
    inside = times[(shown <= high) & (shown >= low)]
    seconds = float(inside[-1] - inside[0]) if inside.size > 1 else 0.0
    return (high - low) / seconds * SECONDS_PER_HOUR if seconds else 0.0


def _level(readings: Readings, moment: float) -> float:
    return float(np.interp(moment, readings.times, readings.temperatures))
