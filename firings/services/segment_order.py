"""Which stretch of the readings belongs to which ramp and hold of a plan.

The plan's ramps and holds are the states of a chain that is gone through once, in order; each
point of the readings costs something in each state, and the cheapest way through all of them is
found by dynamic programming. Costs are bounded, so that a failure of the power, a wait or an
overshoot is only dear for as long as it lasts and cannot turn the order of the rest.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from firings.services.readings import Readings
from schedules.services.curve import Curve, Segment
from studio.services.kiln_response import SECONDS_PER_HOUR

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

MOST_POINTS = 2400
"""Points at which the course is looked at; half a minute apart in a firing of 20 hours."""
LEAST_WIDTH = 20.0
"""s between them, at least."""
SLOPE_WINDOW = 150.0
"""s to both sides over which a slope is taken."""
SLOPE_SCALE = 30.0
"""°C/h: a slope off by as much costs 1 a minute."""
LEVEL_SLACK, LEVEL_SCALE = 3.0, 4.0
"""°C about a target that cost a hold nothing, and beyond them the °C that cost 1 a minute."""
OVERSHOOT = 10.0
"""°C past a target that still cost a hold nothing."""
DEAREST = 4.0
"""a minute: what a point costs at most in a state."""
SLOWER = 0.5
"""a minute: what a ramp costs that stands still. Kilns lag; they don't run ahead."""
OF_FREE_COOLING = 0.5
"""Share of the fall that the kiln's response gives below which it is not switched off."""
SKIPPED_HOLD, SKIPPED_RAMP = 6.0, 12.0
"""What a hold or a ramp that was planned and didn't happen costs."""
UNPLANNED_HOLD = 6.0
"""What a hold costs where none was planned."""
FARTHEST = 30.0
"""°C from its target at which a hold is none of it."""
LEAST_WAY = 8.0
"""°C that a ramp went, at least, to be one."""
BEFORE_ITS_RAMP = 0.1
"""a minute: what a ramp costs short of where it was to begin."""


@dataclass(frozen=True)
class Stretch:
    """From and to, s of the recording, of a ramp or a hold."""

    begin: float
    end: float


@dataclass(frozen=True)
class Order:
    """The stretches of a plan's ramps and holds as they lie in the readings.

    Attributes
    ----------
    before : s at which the first ramp begins, or None where the readings began in mid-firing
    ramps, holds : one for each segment, None where it did not happen
    """

    before: float | None
    ramps: tuple[Stretch | None, ...]
    holds: tuple[Stretch | None, ...]


def find_order(
    plan: Curve, readings: Readings, unplanned: Sequence[tuple[float, float]] = ()
) -> Order:
    """Find the cheapest way of the readings through a plan.

    Parameters
    ----------
    plan : of at least one segment
    readings : see `Readings`
    unplanned : from and to, s: stretches that say nothing of the plan, such as a power failure

    Returns
    -------
    Order, good to a minute or two: see `knees` for the exact moments.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(200.0, 420.0, 1800.0)], KilnResponse(1100.0, 7e3, 1e4))
    >>> times = np.arange(0.0, 14400.0, 60.0)
    >>> shown = np.interp(times, [600, 7800, 9600, 14400], [20, 420, 420, 200])
    >>> found = find_order(plan, Readings.of(Recording(times, shown)))
    >>> abs(found.ramps[0].begin - 600) <= 180, abs(found.holds[0].end - 9600) <= 180
    (True, True)
    """
    width = max(LEAST_WIDTH, float(np.ptp(readings.times)) / MOST_POINTS, readings.spacing)
    at = _points(readings.times, width)
    half = max(SLOPE_WINDOW, 1.5 * width)
    level, slope = readings.lines(at, half)
    fit = np.isfinite(slope)
    at, level, rate = at[fit], level[fit], slope[fit] * SECONDS_PER_HOUR
    segments, start = plan.segments, float(plan.start)
    if at.size < 3:
        return Order(None, (None,) * len(segments), (None,) * len(segments))
    rate = _beyond_noise(rate, readings, half)
    costs = _costs(plan, level, rate) * (width / 60.0)
    for begin, end in unplanned:
        costs[:, (at > begin) & (at < end)] = 0.0
    first, last = _cheapest(costs, *_penalties(segments, start))
    edges = np.concatenate([[at[0]], (at[:-1] + at[1:]) / 2, [at[-1]]])

    def stretch(state: int) -> Stretch | None:
        if first[state] > last[state]:
            return None
        return Stretch(float(edges[first[state]]), float(edges[last[state] + 1]))

    def ramp(index: int) -> Stretch | None:
        """A way that went nowhere is none, however cheap."""
        found = stretch(1 + 2 * index)
        origin = segments[index - 1].target if index else start
        way = min(LEAST_WAY, abs(segments[index].target - origin) / 4)
        if found is None:
            return None
        passed = level[first[1 + 2 * index] : last[1 + 2 * index] + 1]
        return found if float(np.ptp(passed)) > way else None

    def hold(index: int) -> Stretch | None:
        found = stretch(2 + 2 * index)
        if found is None:
            return None
        kept = level[first[2 + 2 * index] : last[2 + 2 * index] + 1]
        near = float(np.abs(kept - segments[index].target).min())
        return found if near < FARTHEST else None

    count = len(segments)
    ramps = tuple(ramp(index) for index in range(count))
    holds = tuple(hold(index) for index in range(count))
    idle = stretch(0)
    return Order(None if idle is None else idle.end, ramps, holds)


def _points(times: Floats, width: float) -> Floats:
    """Moments `width` apart at which there are readings."""
    place = np.floor((times - times[0]) / width)
    first = np.concatenate([[True], np.diff(place) > 0])
    return np.asarray(times[0] + (place[first] + 0.5) * width, dtype=np.float64)


def _beyond_noise(rate: Floats, readings: Readings, half: float) -> Floats:
    """Rates less what noise alone makes of them, °C/h."""
    count = max(2 * half / readings.spacing, 2.0)
    error = readings.noise * sqrt(12.0 / count) / (2 * half) * SECONDS_PER_HOUR
    return np.sign(rate) * np.maximum(np.abs(rate) - error, 0.0)


def _costs(plan: Curve, level: Floats, rate: Floats) -> Floats:
    """What each point costs in each state, a minute: before, (ramp, hold) for each, after."""
    rows = [_still(rate) + _off(np.abs(level - level[:5].mean()), 8.0)]
    origin = float(plan.start)
    for segment in plan.segments:
        rows.append(_ramp(segment, origin, level, rate))
        rows.append(_hold(segment, origin, level, rate))
        origin = segment.target
    rising = _bounded((np.maximum(rate, 0.0) / SLOPE_SCALE) ** 2)
    pace = OF_FREE_COOLING * np.maximum(plan.response.fall_at(level), 1.0)
    behind = SLOWER * np.clip(1.0 + rate / pace, 0.0, 1.0) ** 2
    rows.append(rising + behind + _off(level - origin, LEVEL_SLACK))
    return np.minimum(np.array(rows), DEAREST)


def _still(rate: Floats) -> Floats:
    return _bounded((rate / SLOPE_SCALE) ** 2)


def _off(distance: Floats, slack: float) -> Floats:
    return _bounded((np.maximum(distance - slack, 0.0) / LEVEL_SCALE) ** 2)


def _bounded(cost: Floats) -> Floats:
    return np.minimum(cost, DEAREST)


def _hold(segment: Segment, origin: float, level: Floats, rate: Floats) -> Floats:
    """An overshoot is part of the hold; short of the target it is still the ramp."""
    over = (level - segment.target) * (1.0 if segment.target >= origin else -1.0)
    distance = np.where(over > 0, np.maximum(over - OVERSHOOT, 0.0), -over)
    return _still(rate) + _off(distance, LEVEL_SLACK)


def _ramp(segment: Segment, origin: float, level: Floats, rate: Floats) -> Floats:
    if segment.target == origin:
        return np.full(level.shape, DEAREST)
    sign = 1.0 if segment.target > origin else -1.0
    along = sign * rate
    asked = np.inf if segment.rate is None else segment.rate
    ahead = np.maximum(along - 1.1 * asked, 0.0) / SLOPE_SCALE
    # A full-power ramp has no rate of its own; standing still is slower than any.
    pace = min(asked, 60.0)
    behind = np.clip(1.0 - along / pace, 0.0, 1.0)
    backwards = np.maximum(-along, 0.0) / SLOPE_SCALE
    beyond = _off(sign * (level - segment.target), LEVEL_SLACK)
    short = np.where(sign * (level - origin) < -10.0, BEFORE_ITS_RAMP, 0.0)
    cost = ahead**2 + SLOWER * behind**2 + backwards**2
    return _bounded(cost) + beyond + short


def _penalties(segments: Sequence[Segment], start: float) -> tuple[Floats, Floats]:
    """What it costs to leave each state out, and to enter it."""
    skipped, entered = [0.0], [0.0]
    origin = start
    for segment in segments:
        skipped += [
            0.0 if segment.target == origin else SKIPPED_RAMP,
            SKIPPED_HOLD if segment.hold > 0 else 0.0,
        ]
        entered += [0.0, 0.0 if segment.hold > 0 else UNPLANNED_HOLD]
        origin = segment.target
    return np.array([*skipped, 0.0]), np.array([*entered, 0.0])


def _cheapest(costs: Floats, skipped: Floats, entered: Floats) -> tuple[Whole, Whole]:
    """The first and last point of each state on the cheapest way; first > last where left out.

    One state after another, each for all points at once: the best way to be in a state at a point
    is the best way to have entered it at any point before.
    """
    states, points = costs.shape
    spent = np.concatenate([np.zeros((states, 1)), np.cumsum(costs, axis=1)], axis=1)
    passed = np.concatenate([[0.0], np.cumsum(skipped)])
    total = np.empty((states, points))
    entry = np.empty((states, points), dtype=np.int64)
    source = np.full((states, points), -1, dtype=np.int64)
    for state in range(states):
        come = np.full(points, np.inf)
        come[0] = passed[state]
        if state:
            # From each earlier state at the point before, with all between left out.
            ways = total[:state, :-1] + (passed[state] - passed[1 : state + 1])[:, None]
            best = np.argmin(ways, axis=0)
            come[1:] = np.minimum.reduce(ways, axis=0)
            source[state, 1:] = best
        come += entered[state]
        gain = come - spent[state, :-1]
        least = np.minimum.accumulate(gain)
        newest = np.where(gain <= least, np.arange(points), 0)
        entry[state] = np.maximum.accumulate(newest)
        total[state] = least + spent[state, 1:]
    first, last = np.full(states, 1, dtype=np.int64), np.zeros(states, dtype=np.int64)
    state = int(np.argmin(total[:, -1] + (passed[-1] - passed[1:])))
    point = points - 1
    while state >= 0 and point >= 0:
        last[state] = point
        first[state] = begun = int(entry[state, point])
        state, point = int(source[state, begun]), begun - 1
    return first, last
