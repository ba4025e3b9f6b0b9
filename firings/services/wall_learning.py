"""What a kiln's recordings tell of its walls, and of its power over its heat capacity.

Switched off, a kiln shows how its walls give and take; at full power, what its elements give. Where
it was never seen at full power, it still was never beyond it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import exp, hypot, log, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from firings.services.kiln_stretches import HALF_WINDOW, kiln_stretches
from firings.services.readings import Readings
from firings.services.recording import Recording
from firings.services.walls import (
    Walls,
    needed_share,
    power_of_rise,
    walls_of,
)
from schedules.services.curve import Curve
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse
from studio.services.response_parameters import LEAST_RISE, RISE_TOLD_AT

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]

SPREADS = np.array([0.5, 0.3, 0.35, 0.25, 0.5])
"""Standard deviations of the ln of the rise at 700 °C, the wall's capacity, the exchange, the loss
and the leak before anything was recorded (our own estimates; the rise as in `kiln_learning`)."""
STEP = 300.0
"""s over which readings are averaged."""
REST = 1000.0 * SECONDS_PER_HOUR
"""s from the beginning of one recording to that of the next."""
WARM = 50.0
"""°C above the room down to which cooling is followed: below, an opened lid tells more."""
NOT_FOLLOWED = 0.04
"""Share of a rate, and of the power, that two masses don't follow."""
LEAST_RATE = 8.0
"""°C/h of the same."""
ALIKE = 2.0
"""Samples of one stretch that say as much as one by itself: the model errs alike along it."""
EVALUATIONS = 25
DIFFERENCE = 1e-3
"""Of a logarithm, over which slopes are taken."""
LEAST_ERROR = 0.03
"""Of the ln of an energy, whatever was recorded (measured on simulated kilns, rounded up)."""


@dataclass(frozen=True, eq=False)
class _Seen:
    """Recordings on a grid, shape (n,), and what their n − 1 steps show.

    `off`: switched off; `full`: at full power; `below`: surely no more than that.
    """

    times: Floats
    temperatures: Floats
    off: Marks
    full: Marks
    below: Marks

    @property
    def rates(self) -> Floats:
        """°C/h of each step."""
        return np.diff(self.temperatures) / np.diff(self.times) * SECONDS_PER_HOUR


def learn_walls(
    recordings: Sequence[Recording], plans: Sequence[Curve], prior: KilnResponse
) -> Walls:
    """A kiln's walls from its recordings.

    Parameters
    ----------
    recordings : of one kiln; those without a series of readings tell nothing here
    plans : the curve that each recording was to follow
    prior : the kiln's response as it was known

    Returns
    -------
    Walls, whose error grows with what the recordings leave open

    Raises
    ------
    ValueError
        When there are not as many plans as recordings.

    Notes
    -----
    Least squares of the heat that is missing in each step, over the logarithms of five figures with
    normal priors: none was given where the kiln was off, all where it was at full power, and no
    more than all elsewhere.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> kiln = KilnResponse(1150.0, 6000.0, 10000.0, slow_cooling_time_constant=18000.0)
    >>> plan = planned_curve([Segment(None, 800.0, 600.0)], kiln)
    >>> times = np.arange(0.0, 60000.0, 60.0)
    >>> walls = learn_walls([Recording(times, plan.at(times))], [plan], kiln)
    >>> walls.error < walls_of(kiln, 0.5).error
    True
    """
    if len(recordings) != len(plans):
        raise ValueError(f"{len(recordings)} recordings and {len(plans)} plans.")
    seen = []
    for recording, plan in zip(recordings, plans, strict=True):
        readings = Readings.of(recording)
        if readings is not None and plan.segments:
            seen.append(_seen(plan, readings, prior))
    typical = walls_of(prior, 0.0)
    start = np.log(
        [
            max(prior.rise_at(RISE_TOLD_AT), LEAST_RISE),
            typical.capacity,
            typical.exchange,
            typical.loss,
            typical.leak,
        ]
    )
    solved = least_squares(
        partial(_missing, start=start, seen=_joined(seen) if seen else None, ambient=prior.ambient),
        start,
        diff_step=np.full(start.size, DIFFERENCE),
        max_nfev=EVALUATIONS,
    )
    found, slopes = np.asarray(solved.x), np.asarray(solved.jac)
    # What is uncertain of the power is so of the energy; the rest hardly moves it.
    error = hypot(LEAST_ERROR, _power_error(found, slopes, prior.ambient))
    return replace(_walls(found, prior.ambient), error=error)


def _walls(found: Floats, ambient: float) -> Walls:
    rise, capacity, exchange, loss, leak = (exp(each) for each in found.tolist())
    flat = Walls(1.0, capacity, exchange, loss, leak, 0.0)
    power = power_of_rise(rise, flat, ambient)
    return Walls(power, capacity, exchange, loss, leak, 0.0)


def _missing(found: Floats, start: Floats, seen: _Seen | None, ambient: float) -> Floats:
    """All residuals, each in its standard deviation."""
    rest = [(found - start) / SPREADS]
    if seen is not None:
        walls = _walls(found, ambient)
        share = needed_share(seen.times, seen.temperatures, walls, ambient)
        by_rate = np.hypot(NOT_FOLLOWED * seen.rates, LEAST_RATE) / walls.power
        by_power = np.hypot(by_rate, NOT_FOLLOWED)
        for marks, off, error in (
            (seen.off, share, by_rate),
            (seen.full, share - 1.0, by_power),
            (seen.below, np.maximum(share - 1.0, 0.0), by_power),
        ):
            rest.append(off[marks] / error[marks] / sqrt(ALIKE))
    return np.concatenate(rest)


def _power_error(found: Floats, slopes: Floats, ambient: float) -> float:
    """Standard deviation of the ln of the power, to first order."""
    covariance = np.linalg.inv(slopes.T @ slopes)
    base = log(_walls(found, ambient).power)
    by_figure = np.array(
        [
            (log(_walls(found + DIFFERENCE * one, ambient).power) - base) / DIFFERENCE
            for one in np.eye(found.size)
        ]
    )
    return sqrt(float(by_figure @ covariance @ by_figure))


def _seen(plan: Curve, readings: Readings, prior: KilnResponse) -> _Seen:
    stretches = kiln_stretches(plan, readings, prior.ambient, prior.slow_cooling_below)
    times, temperatures = _evenly(readings.times, readings.temperatures)
    middles = (times[1:] + times[:-1]) / 2
    off = np.zeros(middles.size, dtype=np.bool_)
    for begin, end in stretches.falls:
        off |= (middles > begin + HALF_WINDOW + STEP / 2) & (middles < end - STEP / 2)
    full = np.zeros(middles.size, dtype=np.bool_)
    if stretches.heating is not None:
        near = np.searchsorted(times, stretches.heating.times) - 1
        full[np.clip(near, 0, middles.size - 1)] = True
    known = np.ones(middles.size, dtype=np.bool_)
    for begin, end in readings.gaps:
        known &= (times[1:] < begin) | (times[:-1] > end)
    warm = np.minimum(temperatures[1:], temperatures[:-1]) > prior.ambient + WARM
    off &= known & warm & ~full
    return _Seen(times, temperatures, off, full & known, known & ~full & ~off)


def _joined(seen: Sequence[_Seen]) -> _Seen:
    """As one course, so far apart that a wall is at rest again when the next one begins."""
    nothing = np.zeros(1, dtype=np.bool_)
    times: list[Floats] = []
    temperatures: list[Floats] = []
    off: list[Marks] = []
    full: list[Marks] = []
    below: list[Marks] = []
    for number, each in enumerate(seen):
        times.append(each.times + number * REST)
        temperatures.append(each.temperatures)
        for marks, own in ((off, each.off), (full, each.full), (below, each.below)):
            marks += [own, nothing] if number + 1 < len(seen) else [own]
    course = np.concatenate(times), np.concatenate(temperatures)
    return _Seen(*course, np.concatenate(off), np.concatenate(full), np.concatenate(below))


def _evenly(times: Floats, temperatures: Floats) -> tuple[Floats, Floats]:
    """Means over `STEP`, at its middle."""
    bins = np.floor((times - times[0]) / STEP + 0.5).astype(np.intp)
    counts = np.bincount(bins)
    filled = counts > 0
    at = np.bincount(bins, times)[filled] / counts[filled]
    level = np.bincount(bins, temperatures)[filled] / counts[filled]
    grid = times[0] + STEP * np.arange(counts.size)
    return grid, np.interp(grid, at, level)
