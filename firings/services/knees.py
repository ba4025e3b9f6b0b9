"""The moments at which a kiln's course bends, or passes a level, to a fraction of a minute."""

from dataclasses import dataclass
from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from firings.services.readings import Readings, thinned_evenly

Floats = NDArray[np.float64]

PASSED = 75.0
"""s to both sides over which the first look for it goes: short, for short holds are passed soon."""
SMOOTHED = 150.0
"""s to both sides over which a level is read where it is passed."""
SHARP_WINDOW, BLUNT_WINDOW = 480.0, 7200.0
"""s to both sides of a knee that are looked at, at least and at most."""
WANTED = 15.0
"""s to which a knee is wanted, where the readings reach far enough: sets the window."""
CANDIDATES = 61
"""Moments that are tried for a knee, each with its own least squares."""
MOST_POINTS = 160
"""Points of a window that a knee is fitted to; more are thinned evenly, by averaging."""
CURVED = 60.0
"""°C/h by which a branch changes its own slope over its window to be fitted as curved."""


STRAIGHT = 2700.0
"""s over which a branch is taken for a straight line, at most."""
SHORTEST = 480.0
"""s of a straight branch, at least."""
SETTLING = 300.0
"""s after a corner in which a controller is still rounding it."""
HINGED = 4.0
"""°C of standard deviation about a hinge of known slopes: noise, and a controller's corners."""
KEPT = 0.08
"""Share by which a kiln's slope may differ from the asked one where it keeps to it."""


@dataclass(frozen=True)
class Branch:
    """One side of a corner.

    Attributes
    ----------
    begin, end : s within which it lies
    slope : °C/s that was asked, or None to take what is there
    level : °C of a hold, or None for a ramp
    """

    begin: float
    end: float
    slope: float | None = None
    level: float | None = None


def crossing(readings: Readings, level: float, sign: float, begin: float, end: float) -> float:
    """When the smoothed course first passes a level.

    Parameters
    ----------
    readings : see `Readings`
    level : °C
    sign : 1 where it is passed on the way up, −1 on the way down
    begin, end : s between which it is looked for

    Returns
    -------
    s, or NaN where it is not passed.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> seen = Readings.of(Recording([0.0, 600.0, 1200.0], [20.0, 120.0, 220.0]))
    >>> round(crossing(seen, 170.0, 1.0, 0.0, 1200.0), 6)
    900.0
    """
    times, shown = readings.between(begin, end) if begin < end else (np.empty(0), np.empty(0))
    if times.size < 3:
        return float("nan")
    half = max(PASSED, 1.5 * readings.spacing) if readings.noise > 0.02 else readings.spacing
    smooth, _ = readings.lines(times, half)
    smooth = np.where(np.isfinite(smooth), smooth, shown)
    past = sign * (smooth - level) >= 0
    if not past.any():
        return float("nan")
    first = int(np.argmax(past))
    if first == 0:
        return float(times[0])
    behind, ahead = smooth[first - 1], smooth[first]
    share = (level - behind) / (ahead - behind) if ahead != behind else 1.0
    found = float(times[first - 1] + share * (times[first] - times[first - 1]))
    return _passed(readings, level, sign, found) if readings.noise > 0.02 else found


def _passed(readings: Readings, level: float, sign: float, near: float) -> float:
    """When a parabola through the readings about a moment passes a level; there a controller
    rounds off its ramp, and a straight line would be late."""
    times, shown = readings.between(near - 2 * SMOOTHED, near + 2 * SMOOTHED)
    if times.size < 9:
        return near
    at = (times - near) / SMOOTHED
    c, b, a = np.polynomial.polynomial.polyfit(at, sign * (shown - level), 2).tolist()
    roots = np.roots([a, b, c])
    real = roots[np.isreal(roots)].real
    real = real[(np.abs(real) < 1.5) & (2 * a * real + b > 0)]
    return near + float(real[np.argmin(np.abs(real))]) * SMOOTHED if real.size else near


def line_before(readings: Readings, moment: float, length: float) -> tuple[float, float]:
    """Level (°C) at a moment and slope (°C/s) of the straight line through what comes before it."""
    middle = np.array([moment - length / 2])
    level, slope = readings.lines(middle, length / 2, least=3)
    return float(level[0] + slope[0] * length / 2), float(slope[0])


def line_after(readings: Readings, moment: float, length: float) -> tuple[float, float]:
    """Level (°C) at a moment and slope (°C/s) of the straight line through what comes after it."""
    middle = np.array([moment + length / 2])
    level, slope = readings.lines(middle, length / 2, least=3)
    return float(level[0] - slope[0] * length / 2), float(slope[0])


def departure(readings: Readings, level: float, sign: float, begin: float, end: float) -> float:
    """When the smoothed course last leaves a level; `sign` and the rest as for `crossing`.

    NaN where it isn't left: where the course ends on this side of it.
    """
    times, shown = readings.between(begin, end)
    if times.size < 3:
        return float("nan")
    smooth, _ = readings.lines(times, max(SMOOTHED / 2, 1.5 * readings.spacing))
    smooth = np.where(np.isfinite(smooth), smooth, shown)
    inside = np.flatnonzero(sign * (smooth - level) < 0)
    if inside.size == 0 or inside[-1] == times.size - 1:
        return float("nan")
    last = int(inside[-1])
    share = (level - smooth[last]) / (smooth[last + 1] - smooth[last])
    return float(times[last] + share * (times[last + 1] - times[last]))


def meeting(
    readings: Readings, near: float, before: Branch, after: Branch, settling: float = SETTLING
) -> float:
    """Where two straight branches meet that a controller keeps to.

    A controller rounds the corner: the kiln is late at first and then makes up for it. So what is
    within `settling` s after the corner is left out, and the line through the rest carried back.

    Parameters
    ----------
    readings : see `Readings`
    near : s about which they meet
    before, after : see `Branch`

    Returns
    -------
    s, or NaN where a branch is too short or does not keep to its slope.
    """
    left = _line(readings, max(before.begin, near - STRAIGHT), near - 60.0, before)
    right = _line(readings, near + settling, min(after.end, near + settling + STRAIGHT), after)
    if left is None or right is None or left[2] == right[2]:
        return float("nan")
    # Each as its middle and its slope.
    (t1, y1, m1), (t2, y2, m2) = left, right
    return t1 + (y2 - y1 - m2 * (t2 - t1)) / (m1 - m2)


def hinge(readings: Readings, begin: float, end: float, before: float, after: float) -> float:
    """Where a course changes from one known slope to another, somewhere between two moments.

    Parameters
    ----------
    readings : see `Readings`
    begin, end : s
    before, after : °C/s

    Returns
    -------
    s, or NaN where no such hinge comes within `HINGED` of the readings.
    """
    times, shown = thinned_evenly(*readings.between(begin, end), MOST_POINTS)
    if times.size < 8 or not (isfinite(before) and isfinite(after)):
        return float("nan")
    candidates = np.linspace(times[2], times[-3], 4 * CANDIDATES)
    apart = times[None, :] - candidates[:, None]
    rest = shown - before * np.minimum(apart, 0.0) - after * np.maximum(apart, 0.0)
    spread = rest.std(axis=1)
    best = int(np.argmin(spread))
    return float(candidates[best]) if spread[best] < HINGED else float("nan")


def _line(
    readings: Readings, begin: float, end: float, branch: Branch
) -> tuple[float, float, float] | None:
    """A branch as a point of it (s, °C) and its slope (°C/s)."""
    if branch.level is not None:
        return (begin, branch.level, 0.0)
    if not end - begin >= SHORTEST:
        return None
    middle = (begin + end) / 2
    level, slope = readings.lines(np.array([middle]), (end - begin) / 2, least=4)
    fitted = float(slope[0])
    if not isfinite(fitted):
        return None
    if branch.slope is None:
        return middle, float(level[0]), fitted
    # The standard error of a slope over n points apart by the spacing.
    count = max((end - begin) / readings.spacing, 2.0)
    error = readings.noise * sqrt(12.0 / count) / (end - begin)
    if abs(fitted - branch.slope) > KEPT * abs(branch.slope) + 2 * error:
        return None
    return middle, float(level[0]), branch.slope


def knee(readings: Readings, near: float, begin: float, end: float, *, flat: bool = False) -> float:
    """Where two branches of the course meet: the moment of the least squares of a bent curve.

    Parameters
    ----------
    readings : see `Readings`
    near : s about which the knee lies
    begin, end : s that its two branches do not reach beyond
    flat : whether the branch before it is a hold, which is fitted without a slope

    Returns
    -------
    s; `near` where there are too few points to say.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> times = np.arange(0.0, 7200.0, 30.0)
    >>> shown = np.interp(times, [0.0, 3615.0, 7200.0], [500.0, 500.0, 600.0])
    >>> seen = Readings.of(Recording(times, shown))
    >>> abs(knee(seen, 3500.0, 0.0, 7200.0, flat=True) - 3615.0) < 3.0
    True
    """
    found = near
    for _ in range(2):
        width = _window(readings, found, begin, end)
        times, shown = readings.between(max(begin, found - width), min(end, found + width))
        times, shown = thinned_evenly(times, shown, MOST_POINTS)
        left = int(np.count_nonzero(times < found))
        if left < 3 or times.size - left < 3:
            return found
        search = min(max(0.4 * width, 4 * readings.spacing), 900.0)
        low = max(times[2], found - search)
        high = min(times[-3], found + search)
        if high <= low:
            return found
        found = _best_bend(times, shown, np.linspace(low, high, CANDIDATES), flat, readings.noise)
    return found


def _window(readings: Readings, near: float, begin: float, end: float) -> float:
    """s to both sides that place a knee to `WANTED`, as far as there is room."""
    reach = 600.0
    _, before = line_before(readings, near, min(reach, max(near - begin, 60.0)))
    _, after = line_after(readings, near, min(reach, max(end - near, 60.0)))
    change = abs(after - before)
    if not change > 0:
        return BLUNT_WINDOW
    wanted = 8 * (readings.noise / (change * WANTED)) ** 2 * readings.spacing
    return float(min(max(wanted, SHARP_WINDOW, 5 * readings.spacing), BLUNT_WINDOW))


def _best_bend(times: Floats, shown: Floats, candidates: Floats, flat: bool, noise: float) -> float:
    """The candidate with the least sum of squares, and between it and its neighbours the vertex."""
    scale = float(times[-1] - times[0])
    apart = (times[None, :] - candidates[:, None]) / scale
    before, after = np.minimum(apart, 0.0), np.maximum(apart, 0.0)
    columns = [np.ones_like(apart), after, after**2]
    if not flat:
        columns.append(before)
    design = np.stack(columns, axis=-1)
    centred = shown - shown.mean()
    normal = np.einsum("cni,cnj->cij", design, design)
    normal += 1e-9 * np.eye(normal.shape[-1])
    right = np.einsum("cni,n->ci", design, centred)
    weights = np.linalg.solve(normal, right[..., None])[..., 0]
    squares = float(centred @ centred) - np.einsum("ci,ci->c", weights, right)
    best = int(np.argmin(squares))
    if 0 < best < candidates.size - 1:
        low, middle, high = squares[best - 1 : best + 2].tolist()
        bend = low - 2 * middle + high
        if bend > 0:
            step = candidates[1] - candidates[0]
            return float(candidates[best] + 0.5 * (low - high) / bend * step)
    return float(candidates[best])
