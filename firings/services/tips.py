"""The highest a kiln came to where it turned without a hold: a tip, without noise.

The course is taken for a line that bends a little everywhere, as kilns do, and sharply once, where
the elements went off. When they did, and how late the thermocouple is, the readings tell only
roughly: the tip is the mean over what they allow, each weighed by how well it explains them.
"""

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
RISING, FALLING = 18.0, 120.0
"""°C/h, standard deviation by which a slope drifts in a minute before and after the tip: a kiln
nearly as hot as it can be rises steadily, one that was switched off falls fast and then slower."""
LAGS = (20.0, 40.0)
"""s by which thermocouples are late (common practice, no source)."""
OFF = np.arange(-150.0, 151.0, 15.0)
"""s from the moment that was found at which the elements may have gone off."""
OFF_SPREAD = 50.0
"""s, standard deviation of it."""
VAGUE = 500.0
"""°C: standard deviation of what nothing is known of."""
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
    for lag in LAGS:
        smooth, drawn = _smooth(times, lag), _smooth(fine, lag)
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


def _smooth(times: Floats, lag: float) -> Floats:
    """A line, and what drifts from it: a small bend at each knot, of the deviation given above."""
    knots = np.arange(-BEFORE, AFTER, KNOT) + KNOT / 2
    drift = np.where(knots < 0, RISING, FALLING) / 3600.0 * np.sqrt(KNOT / 60.0)
    bends = seen_corner(times[:, None] - knots[None, :], lag) * drift
    return np.column_stack([bends, np.full(times.size, VAGUE), times / SCALE * VAGUE])


def _sharp(since: Floats, lag: float) -> Floats:
    return seen_corner(since, lag) / SCALE * VAGUE
