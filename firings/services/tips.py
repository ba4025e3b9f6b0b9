"""The highest a kiln came to where it turned without a hold: a tip, without noise.

The course is taken for a line that bends a little everywhere, as kilns do, and sharply once, where
the elements went off. When they did, how late the thermocouple is and how much the kiln's rise
bent before, the readings tell only roughly: the tip is the mean over what they allow, each weighed
by how well it explains them.
"""

from itertools import product

import numpy as np
from numpy.typing import NDArray

from firings.services.corners import seen_corner
from firings.services.readings import Readings, thinned_evenly

Floats = NDArray[np.float64]

BEFORE, AFTER = 600.0, 300.0
"""s to both sides of a tip that are fitted."""
LEAST_POINTS, MOST_POINTS = 12, 160
KNOT = 30.0
"""s between two small bends."""
RISING = (9.0, 25.0, 70.0)
"""°C/h, standard deviations by which a slope may drift in a minute before the tip: a kiln nearly as
hot as it can be rises steadily, one that was only just let go from a hold has bent on its way."""
FALLING = 120.0
"""°C/h, the same after the tip: a kiln that was switched off falls fast and then slower."""
LAGS = (20.0, 40.0)
"""s by which thermocouples are late (common practice, no source)."""
OFF = np.arange(-150.0, 151.0, 15.0)
"""s from the moment that was found at which the elements may have gone off."""
OFF_SPREAD = 50.0
"""s, standard deviation of it."""
VAGUE = 500.0
"""°C: standard deviation of what nothing is known of."""
DEPTH = 10.0
"""°C below the highest of the smoothed course within which a tip lies, cut off as it is there."""
TURNED = 75.0
"""s to both sides whose slopes are held against each other to find where a course turned."""
STEP = 15.0
"""s between two moments at which it may have."""
SCALE = 300.0
"""s over which a slope that nothing is known of is counted."""
FINE = 5.0


def tip_without_noise(readings: Readings, moment: float) -> float | None:
    """The highest of a tip.

    Parameters
    ----------
    readings : see `Readings`, with noise
    moment : s about which it lies

    Returns
    -------
    °C, or None where too few readings were taken of it.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> times = np.arange(0.0, 7200.0, 30.0)
    >>> shown = np.interp(times, [0.0, 3600.0, 7200.0], [500.0, 800.0, 500.0])
    >>> noisy = shown + np.random.default_rng(1).normal(0.0, 0.5, times.size)
    >>> abs(tip_without_noise(Readings.of(Recording(times, noisy)), 3620.0) - 800.0) < 1.0
    True
    """
    whole, all_shown = readings.between(moment - BEFORE, moment + AFTER)
    times, shown = thinned_evenly(whole, all_shown, MOST_POINTS)
    if times.size < LEAST_POINTS:
        return None
    noise = readings.noise * float(np.sqrt(times.size / whole.size))
    times, middle = times - moment, float(shown.mean())
    low, high = max(-BEFORE / 2, float(times[0])), min(AFTER / 2, float(times[-1]))
    fine = np.arange(low, high + FINE, FINE)
    likelihoods, highest = [], []
    for rising, lag in product(RISING, LAGS):
        smooth, drawn = _smooth(times, lag, rising), _smooth(fine, lag, rising)
        for off in OFF:
            columns = np.column_stack([smooth, _sharp(times - off, lag)])
            normal = columns.T @ columns / noise**2 + np.eye(columns.shape[1])
            root = np.linalg.cholesky(normal)
            half = np.linalg.solve(root, columns.T @ (shown - middle) / noise**2)
            weights = np.linalg.solve(root.T, half)
            likelihoods.append(
                0.5 * float(half @ half)
                - float(np.log(np.diag(root)).sum())
                - 0.5 * (off / OFF_SPREAD) ** 2
            )
            course = np.column_stack([drawn, _sharp(fine - off, lag)]) @ weights
            highest.append(float(course.max()))
    weight = np.exp(np.array(likelihoods) - max(likelihoods))
    return middle + float(np.average(highest, weights=weight))


def sharpest_turn(readings: Readings) -> float:
    """When the course, nearly as hot as it ever was, turned most sharply into a fall.

    Parameters
    ----------
    readings : see `Readings`

    Returns
    -------
    s, to about a minute; of a course that nowhere turns, some moment near its highest.

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> times = np.arange(0.0, 7200.0, 30.0)
    >>> shown = np.interp(times, [0, 1800, 3600, 3900, 7200], [500, 790, 790, 800, 500])
    >>> abs(sharpest_turn(Readings.of(Recording(times, shown))) - 3900.0) < 60.0
    True
    """
    half = max(TURNED, 1.5 * readings.spacing)
    level, _ = readings.lines(readings.times, 2 * half)
    # Where readings are too few for a line there is no level, and the comparison is false.
    near = readings.times[level > np.nanmax(level) - DEPTH]
    at = np.unique(np.round((near[:, None] + np.arange(-2, 11) * STEP) / STEP) * STEP)
    _, before = readings.lines(at - half, half)
    _, after = readings.lines(at + half, half)
    # Coming to a hold is a turn too, but no fall follows it.
    turn = np.minimum(before - after, -2 * after)
    turn = np.where(np.isfinite(turn), turn, -np.inf)
    return float(at[int(np.argmax(turn))])


def _smooth(times: Floats, lag: float, rising: float) -> Floats:
    """A line, and what drifts from it: a small bend at each knot, of the deviation given above."""
    knots = np.arange(-BEFORE, AFTER, KNOT) + KNOT / 2
    drift = np.where(knots < 0, rising, FALLING) / 3600.0 * np.sqrt(KNOT / 60.0)
    bends = seen_corner(times[:, None] - knots[None, :], lag) * drift
    return np.column_stack([bends, np.full(times.size, VAGUE), times / SCALE * VAGUE])


def _sharp(since: Floats, lag: float) -> Floats:
    return seen_corner(since, lag) / SCALE * VAGUE
