"""How a kiln came to a target and held it, without the noise of its readings."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from firings.services.approach import approach
from firings.services.interruptions import Interruption
from firings.services.readings import Readings

Floats = NDArray[np.float64]

HELD_WITHIN = 3.0
"""°C about its target within which a hold counts as settled (common practice, no source)."""
QUIET = 0.02
"""°C of noise below which the readings are taken as they are."""
APPROACH, LEAVING = 900.0, 180.0
"""s before and after a hold that are fitted with it."""
FIRST_KNOT, WIDENING = 80.0, 2.0
"""s to the first knot after a target is met, and how much farther each next one is. A controller
rounds its corner within minutes and grows calm after: later there is less to follow."""
STIFFNESS = 0.1
"""Weight of the bends between neighbouring coefficients: settles what few readings leave open."""
EDGE, LAG = 20.0, 15.0
"""s before its end at which a fitted hold is read last, and after it at which the course bends:
its end is known to some seconds, and a thermocouple shows it late."""
ROUNDING = 420.0
"""s before a target is met within which a course may already be past it."""
FINE = 10.0
"""s between two points of a fitted course."""
SHORTEST, SHORT = 30.0, 420.0
"""s of a hold between which a free curve follows the noise, and a controller's own is taken."""


@dataclass(frozen=True)
class Holding:
    """What became of a target.

    Attributes
    ----------
    overshoot : °C past the target in the direction of its ramp, 0 where it stayed short of it
    furthest : °C at which that was
    settled_after : s from meeting the target until the course stays within `HELD_WITHIN` of it;
        None where it did not settle
    within : s of the hold that were within `HELD_WITHIN` of the target
    held : s of the hold without interruptions
    mean : °C while holding, or None
    """

    overshoot: float
    furthest: float
    settled_after: float | None
    within: float
    held: float
    mean: float | None


@dataclass(frozen=True, eq=False)
class _Course:
    """A stretch of the kiln's course without noise: s and °C, shape (n,), and its furthest, °C."""

    times: Floats
    temperatures: Floats
    furthest: float

    @classmethod
    def through(cls, times: Floats, temperatures: Floats, sign: float) -> "_Course":
        return cls(times, temperatures, sign * float((sign * temperatures).max()))


def held(
    readings: Readings,
    interruptions: tuple[Interruption, ...],
    target: float,
    sign: float,
    begin: float,
    end: float,
) -> Holding | None:
    """Look at a hold, from the moment at which its target was met.

    Parameters
    ----------
    readings : see `Readings`
    interruptions : left out of the hold
    target : °C
    sign : 1 where it was come to from below, −1 from above
    begin, end : s

    Returns
    -------
    Holding, or None where too little was read.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> times = np.arange(0.0, 9000.0, 30.0)
    >>> shown = np.interp(times, [0, 3600, 3900, 4500, 7200, 9000], [600, 800, 806, 800, 800, 700])
    >>> one = held(Readings.of(Recording(times, shown)), (), 800.0, 1.0, 3600.0, 7200.0)
    >>> one.overshoot, one.settled_after, one.mean < 801
    (6.0, 600.0, True)
    """
    parts = _clear(interruptions, begin, end)
    courses = [
        course for part in parts if (course := _course(readings, *part, begin, end, target, sign))
    ]
    if not courses:
        return None
    past = [sign * (course.temperatures - target) for course in courses]
    furthest = sign * max(sign * course.furthest for course in courses)
    inside = [course.times >= begin for course in courses]
    steps = [_steps(course.times) for course in courses]
    near = [np.abs(each) <= HELD_WITHIN for each in past]
    length = sum(stop - start for start, stop in parts)
    spent = sum(float(step[now].sum()) for step, now in zip(steps, inside, strict=True))
    good = sum(
        float(step[now & close].sum()) for step, now, close in zip(steps, inside, near, strict=True)
    )
    return Holding(
        overshoot=max(sign * (furthest - target), 0.0),
        furthest=furthest,
        settled_after=_settled_after(courses[-1], near[-1], begin),
        within=min(good / spent, 1.0) * length if spent else 0.0,
        held=length,
        mean=_mean(readings, parts),
    )


def _steps(times: Floats) -> Floats:
    """s that each point stands for."""
    return np.gradient(times) if times.size > 1 else np.zeros(times.size)


def _clear(
    interruptions: tuple[Interruption, ...], begin: float, end: float
) -> list[tuple[float, float]]:
    """The stretches of a hold without interruptions."""
    parts, now = [], begin
    for each in interruptions:
        if now < each.end and each.begin < end:
            if each.begin > now:
                parts.append((now, each.begin))
            now = max(now, each.end)
    if now < end or not parts:
        parts.append((now, max(now, end)))
    return parts


def _course(
    readings: Readings,
    begin: float,
    end: float,
    met: float,
    left: float,
    target: float,
    sign: float,
) -> _Course | None:
    """The course over one stretch of a hold, and shortly before its target was met."""
    first = begin == met
    low = begin - APPROACH if first else begin
    high = end + LEAVING if end == left else end
    times, shown = readings.between(low, high)
    from_here = begin - ROUNDING if first else begin
    if times.size < 3:
        return None
    if readings.noise < QUIET or times.size < 12:
        seen = (times >= from_here) & (times <= end)
        return _Course.through(times[seen], shown[seen], sign) if seen.any() else None
    if first and end == left and SHORTEST < end - begin <= SHORT:
        short = _short(readings, met, left, target, sign)
        if short is not None:
            return short
    until = max(end - EDGE, begin) if end == left else end
    fitted = np.arange(max(from_here, float(times[0])), min(until, float(times[-1])) + 1.0, FINE)
    if not fitted.size:
        return None
    return _Course.through(fitted, _fitted(times, shown, begin, end + LAG, fitted), sign)


def _short(
    readings: Readings, met: float, left: float, target: float, sign: float
) -> _Course | None:
    """A short hold by the way in which controllers come to a target, where it came that way."""
    times, shown = readings.between(met - APPROACH, left + 2 * LEAVING)
    at = np.arange(max(met - ROUNDING, float(times[0])), min(left, float(times[-1])) + 1.0, FINE)
    # Come to from above, it is the same upside down.
    found = approach(
        times, sign * shown, readings.noise, target=sign * target, met=met, left=left, at=at
    )
    if found is None:
        return None
    return _Course(at, sign * found.temperatures, sign * found.highest)


def _fitted(times: Floats, shown: Floats, begin: float, end: float, at: Floats) -> Floats:
    """A cubic spline whose knots grow rarer after a target is met, bent where its hold ends."""
    middle = float(shown.mean())
    knots = _knots(float(times[0]), begin, end, float(times[-1]))
    columns = _columns(times, knots, end)
    bends = np.diff(np.eye(columns.shape[1] - 1), 2, axis=0)
    normal = columns.T @ columns
    normal[:-1, :-1] += STIFFNESS * bends.T @ bends
    normal += 1e-8 * np.eye(normal.shape[0])
    weights = np.linalg.solve(normal, columns.T @ (shown - middle))
    return np.asarray(middle + _columns(at, knots, end) @ weights, dtype=np.float64)


def _knots(first: float, begin: float, end: float, last: float) -> Floats:
    knots = [first - 1.0, *(each for each in (begin - 200.0, begin - 60.0) if each > first + 30.0)]
    at, step = begin + 20.0, FIRST_KNOT
    while at < end - 30.0:
        if at > knots[-1]:
            knots.append(at)
        at += step
        step *= WIDENING
    if end > knots[-1] + 40.0 and end < last - 40.0:
        knots.append(end)
    return np.array([*knots, max(last, knots[-1]) + 1.0])


def _columns(times: Floats, knots: Floats, end: float) -> Floats:
    """Cubic B-splines, and what bends sharply at `end`."""
    ends = [knots[0]] * 3, [knots[-1]] * 3
    whole = np.concatenate([ends[0], knots, ends[1]])
    splines = BSpline.design_matrix(np.clip(times, knots[0], knots[-1] - 1e-6), whole, 3)
    sharp = np.maximum(times - end, 0.0) / LEAVING
    return np.column_stack([splines.toarray(), sharp])


def _settled_after(course: _Course, near: NDArray[np.bool_], begin: float) -> float | None:
    off = np.flatnonzero(~near)
    if off.size == 0:
        return max(float(course.times[0]) - begin, 0.0)
    if off[-1] == near.size - 1:
        return None
    return max(float(course.times[off[-1] + 1]) - begin, 0.0)


def _mean(readings: Readings, parts: list[tuple[float, float]]) -> float | None:
    """°C, weighted by time."""
    total = seconds = 0.0
    for begin, end in parts:
        times, shown = readings.between(begin, end)
        if times.size > 1:
            steps = np.diff(times)
            total += float(np.dot(steps, (shown[:-1] + shown[1:]) / 2))
            seconds += float(steps.sum())
    return total / seconds if seconds else None


def highest_without_noise(readings: Readings, window: float = 150.0) -> tuple[float, float]:
    """The peak of the smoothed course, and when: s, °C. Sharp tips come out lower than they are."""
    if readings.noise < QUIET:
        place = int(np.argmax(readings.temperatures))
        return float(readings.times[place]), float(readings.temperatures[place])
    level, _ = readings.lines(readings.times, max(window, 1.5 * readings.spacing))
    place = int(np.nanargmax(np.where(np.isfinite(level), level, -np.inf)))
    return float(readings.times[place]), float(level[place])
