"""The course by which a controller comes to its target, holds it shortly, and leaves it.

A kiln on its ramp runs along a line. Where the ramp ends, a controller brings it to its target by
two decays: a fast one, as the power falls back, and a slow one, as what it had gathered on the way
runs out again: an overshoot is the second outliving the first. A short hold ends before there is
much of it, so a free curve would follow the noise; this one can't. How fast either decays, when
the ramp ended and the elements were cut back, the readings tell only roughly: the course is the
mean over what they allow, each weighed by how well it explains them.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.corners import seen_corner
from firings.services.readings import thinned_evenly

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

BEFORE, AFTER = 500.0, 240.0
"""s before and after a short hold that are fitted with it."""
LEAST_POINTS, MOST_POINTS = 12, 160
ENDED = np.arange(-240.0, 61.0, 20.0)
"""s from the moment at which the target was met at which the ramp may have ended."""
FAST, SLOW = (30.0, 55.0, 100.0, 180.0), (200.0, 400.0, 800.0)
"""s, time constants of the two decays."""
LEFT = np.arange(-75.0, 46.0, 15.0)
"""s from the moment that was found at which the hold may have ended: a thermocouple is late."""
LEFT_SPREAD = 60.0
"""s, standard deviation of it."""
LAG = 25.0
"""s by which a thermocouple is late (common practice, no source); it matters little here."""
RAMP_BEND = 20.0
"""°C, standard deviation by which a ramp bends away from its line over `RAMP`."""
RAMP = 600.0
BEHIND = 30.0
"""°C, standard deviation by which a kiln is behind its target where the ramp ends."""
SETTLED = 2.0
"""°C, standard deviation about the target of the level to which it settles."""
FALL, FALL_BEND = 1.0, 1e-3
"""°C/s and °C/s², standard deviations of the slope with which a hold is left, and of its change."""
LEAST_WEIGHT = 1e-3
"""Of the likeliest: what is less likely is left out."""
MISFIT = 1.6
"""Times the readings' noise that the likeliest course may leave unexplained."""


@dataclass(frozen=True, eq=False)
class Approach:
    """A fitted course.

    Attributes
    ----------
    temperatures : °C at the moments asked for, shape (m,)
    highest : °C until the hold ended, the mean of that of all the courses; their mean's is lower
    """

    temperatures: Floats
    highest: float


def approach(
    times: Floats,
    shown: Floats,
    noise: float,
    *,
    target: float,
    met: float,
    left: float,
    at: Floats,
) -> Approach | None:
    """Fit the course of a short hold that was come to from below.

    Parameters
    ----------
    times, shown : s and °C of the readings, shape (n,)
    noise : °C, their standard deviation, above 0
    target : °C
    met, left : s at which the target was met and the hold ended, good to a minute
    at : s of the moments asked for, shape (m,), within what is fitted, some before `left`

    Returns
    -------
    Approach, or None where there are too few readings, or the kiln came another way.

    Notes
    -----
    With x the seconds since the end of the ramp, its slope a and its distance from the level
    settled to L, the course is L + a·x before and C·exp(−x/slow) − D·exp(−x/fast) after, with C and
    D such that neither it nor its slope jumps: the overdamped response of a second-order system
    (any text on linear systems), linear in a and L.

    Examples
    --------
    >>> times = np.arange(0.0, 2000.0, 30.0)
    >>> shown = np.interp(times, [0.0, 1000.0, 1300.0, 2000.0], [700.0, 800.0, 800.0, 650.0])
    >>> noisy = shown + np.random.default_rng(1).normal(0.0, 1.0, times.size)
    >>> found = approach(times, noisy, 1.0, target=800.0, met=1000.0, left=1300.0, at=times)
    >>> abs(found.highest - 800.0) < 1.5
    True
    """
    near = (times > met - BEFORE) & (times < left + AFTER)
    seconds, celsius = thinned_evenly(times[near], shown[near], MOST_POINTS)
    if seconds.size < LEAST_POINTS:
        return None
    noise = noise * float(np.sqrt(seconds.size / np.count_nonzero(near)))
    readings, gone = celsius - target, left - met
    held, leaving = _held(seconds - met), _leaving(seconds - met - gone)
    likely, weights = _fitted(held, leaving, readings, noise)
    shape, end = np.nonzero(likely == likely.max())
    rest = readings - _course(held, leaving, weights, shape, end)[0]
    if float(np.std(rest)) > MISFIT * noise:
        return None
    shares = np.exp(likely - likely.max())
    shapes, ends = np.nonzero(shares > LEAST_WEIGHT)
    shares = shares[shapes, ends]
    courses = _course(_held(at - met), _leaving(at - met - gone), weights, shapes, ends)
    # Farther away than it was fitted, a course says nothing.
    there = (at > met - BEFORE) & (at <= left)
    return Approach(
        target + np.average(courses, axis=0, weights=shares),
        target + float(np.average(courses[:, there].max(axis=1), weights=shares)),
    )


def _held(since: Floats) -> Floats:
    """Columns of slope, distance, level and bend for each shape: (shapes, n, 4)."""
    ended, fast, slow = (
        each.reshape(-1, 1) for each in np.meshgrid(ENDED, FAST, SLOW, indexing="ij")
    )
    apart = since[None, :] - ended
    before, after = np.minimum(apart, 0.0), np.maximum(apart, 0.0)
    quick, late = np.exp(-after / fast), np.exp(-after / slow)
    difference = (late - quick) / (1.0 / fast - 1.0 / slow)
    columns = [
        before + difference,
        difference / fast + quick,
        np.ones_like(apart),
        (before / RAMP) ** 2,
    ]
    scaled = np.stack(columns, axis=-1) * np.array([1.0, BEHIND, SETTLED, RAMP_BEND])
    return np.asarray(scaled, dtype=np.float64)


def _leaving(since: Floats) -> Floats:
    """Columns of slope and its change for each moment at which it may have begun: (ends, n, 2)."""
    apart = since[None, :] - LEFT[:, None]
    columns = [seen_corner(apart, LAG) * FALL, seen_corner(apart, LAG, 2) * FALL_BEND]
    return np.stack(columns, axis=-1)


def _course(held: Floats, leaving: Floats, weights: Floats, shapes: Whole, ends: Whole) -> Floats:
    chosen = weights[shapes, ends]
    return np.asarray(
        np.einsum("gni,gi->gn", held[shapes], chosen[:, :4])
        + np.einsum("gni,gi->gn", leaving[ends], chosen[:, 4:]),
        dtype=np.float64,
    )


def _fitted(held: Floats, leaving: Floats, readings: Floats, noise: float) -> tuple[Floats, Floats]:
    """How likely each shape with each end is (logarithm), and its weights: (shapes, ends[, 6])."""
    shapes, ends = held.shape[0], leaving.shape[0]
    normal = np.empty((shapes, ends, 6, 6))
    normal[..., :4, :4] = (held.transpose(0, 2, 1) @ held)[:, None]
    normal[..., 4:, 4:] = (leaving.transpose(0, 2, 1) @ leaving)[None]
    shared = np.tensordot(held, leaving, axes=(1, 1)).transpose(0, 2, 1, 3)
    normal[..., :4, 4:] = shared
    normal[..., 4:, :4] = shared.swapaxes(-1, -2)
    normal = normal / noise**2 + np.eye(6)
    right = np.empty((shapes, ends, 6))
    right[..., :4] = (readings @ held)[:, None]
    right[..., 4:] = (readings @ leaving)[None]
    right /= noise**2
    weights = np.linalg.solve(normal, right[..., None])[..., 0]
    _, determinant = np.linalg.slogdet(normal)
    likely = 0.5 * (np.sum(weights * right, axis=-1) - determinant)
    likely -= 0.5 * (LEFT / LEFT_SPREAD) ** 2
    return np.asarray(likely, dtype=np.float64), np.asarray(weights, dtype=np.float64)
