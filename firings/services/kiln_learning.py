"""What a kiln's recordings tell of its response: how fast it heats and cools by itself."""

from collections.abc import Sequence
from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

from firings.services.kiln_stretches import Cooling, Heating, kiln_stretches
from firings.services.readings import Readings
from firings.services.recording import Recording
from schedules.services.curve import Curve
from studio.services.kiln_response import KilnResponse
from studio.services.response_parameters import (
    NEAREST_LIMIT,
    RISE_TOLD_AT,
    heating_time_constant,
)

Floats = NDArray[np.float64]

PRIOR_RISE = 0.5
"""Standard deviation of the ln of the rise before anything was recorded (invented: a factor of
1.6 either way, about what two kilns of one size differ by)."""
PRIOR_LIMIT = 100.0
"""°C, of the limit."""
PRIOR_COOLING = 0.4
"""Of the ln of a cooling constant."""
SCATTER_RISE, SCATTER_COOLING = 0.05, 0.05
"""By which the ln of a rise or a cooling constant differs from firing to firing before it is known
(load, room, supply; common practice, no source)."""
SCATTER_WEIGHT = 3.0
"""Firings that this counts for."""
SAMPLE_SCATTER = 0.03
"""Share of a rate that the model does not follow from one sample to the next."""
BEND = 0.05
"""Share by which a kiln that is not of one temperature bends a whole stretch, at least: keeps a
short stretch from saying anything of the limit."""
LEAST_SAMPLES = 3
"""Of a firing at full power, six minutes each, that say something by themselves."""
CLOSE = 1.5
"""Standard deviations from which a firing counts less."""
ROUNDS = 25


def learn_response(
    recordings: Sequence[Recording], plans: Sequence[Curve], prior: KilnResponse
) -> KilnResponse:
    """A kiln's response from its recordings, robustly.

    The rise at 700 °C and the limit are fitted to the stretches at full power, the two cooling
    constants to those in which the kiln was switched off. What the recordings do not show stays
    as in the prior: without a stretch at full power its rise, and with a short one its limit.
    Firings count less the farther they lie from the rest.

    Parameters
    ----------
    recordings : of one kiln; those without a series of readings tell nothing here
    plans : the curve that each recording was to follow, in the same terms
    prior : the kiln's response as it was known; its room's temperature and split are kept

    Returns
    -------
    KilnResponse whose `covariance`, 4 × 4, is of the `PARAMETERS` of
    `studio.services.response_parameters` as they will be in the next firing: the scatter from
    firing to firing is in it.

    Raises
    ------
    ValueError
        When there are not as many plans as recordings.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> kiln = KilnResponse(1100.0, 7200.0, 9000.0, slow_cooling_time_constant=18000.0)
    >>> plan = planned_curve([Segment(None, 800.0, 600.0)], kiln)
    >>> times = np.arange(0.0, 60000.0, 30.0)
    >>> recording = Recording(times, plan.at(times))
    >>> prior = KilnResponse(1150.0, 5000.0, 12000.0)
    >>> learnt = learn_response([recording] * 3, [plan] * 3, prior)
    >>> round(learnt.rise_at(700.0)), round(learnt.cooling_time_constant / 1000)
    (200, 9)
    """
    if len(recordings) != len(plans):
        raise ValueError(f"{len(recordings)} recordings and {len(plans)} plans.")
    seen = []
    for recording, plan in zip(recordings, plans, strict=True):
        readings = Readings.of(recording)
        if readings is not None and plan.segments:
            seen.append(kiln_stretches(plan, readings, prior.ambient, prior.slow_cooling_below))
    heatings = [each.heating for each in seen if each.heating is not None]
    coolings = [each.cooling for each in seen if each.cooling is not None]
    rise, limit, heating_covariance = _learn_heating(heatings, prior)
    cooling, slow, cooling_covariance = _learn_cooling(coolings, prior)
    covariance = np.zeros((4, 4))
    covariance[:2, :2], covariance[2:, 2:] = heating_covariance, cooling_covariance
    return replace(
        prior,
        full_power_limit=limit,
        heating_time_constant=heating_time_constant(rise, limit),
        cooling_time_constant=cooling,
        slow_cooling_time_constant=slow,
        covariance=covariance,
    )


def _learn_heating(heatings: Sequence[Heating], prior: KilnResponse) -> tuple[float, float, Floats]:
    """Rise at 700 °C (°C/h), limit (°C) and their covariance."""
    prior_limit = max(prior.full_power_limit, RISE_TOLD_AT + NEAREST_LIMIT)
    prior_rise = max(prior.rise_at(RISE_TOLD_AT), 1.0)
    start = np.array([log(prior_rise), prior_limit])
    prior_precision = np.diag([1 / PRIOR_RISE**2, 1 / PRIOR_LIMIT**2])
    scatter = SCATTER_RISE
    hottest = max((float(each.temperatures.max()) for each in heatings), default=0.0)
    lowest_limit = max(hottest, RISE_TOLD_AT) + NEAREST_LIMIT
    now, bends = np.array([start[0], max(prior_limit, lowest_limit)]), [BEND] * len(heatings)
    weights = np.ones(len(heatings))
    precision = prior_precision
    for _ in range(ROUNDS):
        precision, pull = prior_precision.copy(), prior_precision @ (start - now)
        levels = []
        for number, each in enumerate(heatings):
            rest, slopes, cover = _residuals(each, now, scatter, bends[number])
            solved = np.linalg.solve(cover, slopes)
            precision += weights[number] * slopes.T @ solved
            pull += weights[number] * solved.T @ rest
            levels.append(_level(each, now))
            bends[number] = _bend(each, now)
        step = np.linalg.solve(precision, pull)
        now = now + np.clip(step, [-0.5, -60.0], [0.5, 60.0])
        now[1] = max(now[1], lowest_limit)
        if len(levels) > 1:
            scatter = _scatter(np.array(levels), weights, SCATTER_RISE)
            weights = _trust(np.array(levels), scatter)
        if np.abs(step / [0.001, 0.1]).max() < 1:
            break
    covariance = np.linalg.inv(precision)
    covariance[0, 0] += scatter**2
    rise = exp(now[0])
    turn = np.diag([rise, 1.0])
    return rise, float(now[1]), np.asarray(turn @ covariance @ turn, dtype=np.float64)


def _rates(temperatures: Floats, now: Floats) -> Floats:
    """°C/h at full power by (ln of the rise at 700 °C, limit)."""
    return np.asarray(
        np.exp(now[0]) * (now[1] - temperatures) / (now[1] - RISE_TOLD_AT), dtype=np.float64
    )


def _residuals(
    each: Heating, now: Floats, scatter: float, bend: float
) -> tuple[Floats, Floats, Floats]:
    """Of one firing: what is left, its slopes by the parameters, and its covariance.

    The samples of a firing share its scatter, and the bend that a kiln of several masses gives to
    a whole stretch: many samples of one stretch are not many firings.
    """
    rates = _rates(each.temperatures, now)
    height = now[1] - RISE_TOLD_AT
    by_limit = np.exp(now[0]) * (each.temperatures - RISE_TOLD_AT) / height**2
    tilt = rates * (each.temperatures - each.temperatures.mean()) * bend / _range(each)
    cover = (
        np.diag(each.error**2 + (SAMPLE_SCATTER * rates) ** 2)
        + scatter**2 * np.outer(rates, rates)
        + np.outer(tilt, tilt)
    )
    return each.rates - rates, np.column_stack([rates, by_limit]), cover


def _range(each: Heating) -> float:
    """°C over which a firing was at full power."""
    return max(float(np.ptp(each.temperatures)), 30.0)


def _level(each: Heating, now: Floats) -> float:
    """ln by which a firing heated faster than the rest."""
    return float(np.log(np.median(each.rates / _rates(each.temperatures, now))))


def _bend(each: Heating, now: Floats) -> float:
    """Share by which the model misses a stretch's course, beyond noise; `BEND` at least."""
    ratio = each.rates / _rates(each.temperatures, now)
    noise = each.error / float(each.rates.mean())
    spread = float(np.median(np.abs(ratio / np.median(ratio) - 1.0))) * 1.4826
    return max(BEND, sqrt(12.0 * max(spread**2 - noise**2, 0.0)))


def _scatter(levels: Floats, weights: Floats, before: float) -> float:
    """Standard deviation from firing to firing, with what is usual counting for a few firings."""
    middle = float(np.average(levels, weights=weights))
    squares = float(np.dot(weights, (levels - middle) ** 2))
    free = SCATTER_WEIGHT + max(float(weights.sum()) - 1.0, 0.0)
    return sqrt((SCATTER_WEIGHT * before**2 + squares) / free)


def _trust(levels: Floats, scatter: float) -> Floats:
    """Squared beyond `CLOSE`: what is far off is some other matter, a lid or a dead element."""
    apart = np.abs(levels - np.median(levels)) / scatter
    return np.asarray(1.0 / np.maximum(apart / CLOSE, 1.0) ** 2, dtype=np.float64)


def _learn_cooling(
    coolings: Sequence[Cooling], prior: KilnResponse
) -> tuple[float, float | None, Floats]:
    """Both cooling constants (s) and their covariance."""
    fast = [(log(each.fast), each.fast_fall) for each in coolings if each.fast is not None]
    slow = [(log(each.slow), each.slow_fall) for each in coolings if each.slow is not None]
    prior_slow = prior.slow_cooling_time_constant
    cooling, cooling_error = _constant(fast, prior.cooling_time_constant)
    night, night_error = _constant(slow, prior_slow or prior.cooling_time_constant)
    if not slow and prior_slow is None:
        return cooling, None, np.diag([(cooling * cooling_error) ** 2] * 2)
    # Walls give back heat: where the two come out the other way round, they are one.
    if night < cooling:
        share = cooling_error**2 / (cooling_error**2 + night_error**2)
        cooling = night = exp((1 - share) * log(cooling) + share * log(night))
    return cooling, night, np.diag([(cooling * cooling_error) ** 2, (night * night_error) ** 2])


def _constant(seen: Sequence[tuple[float, float]], prior: float) -> tuple[float, float]:
    """A cooling constant (s), and the standard deviation of its ln in the next firing."""
    if not seen:
        return prior, PRIOR_COOLING
    levels = np.array([level for level, _ in seen])
    # A short fall says less.
    trust = np.array([min(fall, 1.0) for _, fall in seen])
    scatter, weights = SCATTER_COOLING, trust
    for _ in range(ROUNDS):
        scatter = _scatter(levels, weights, SCATTER_COOLING)
        weights = trust * _trust(levels, scatter)
    information = float(weights.sum()) / scatter**2
    before = 1 / PRIOR_COOLING**2
    level = (float(np.dot(weights, levels)) / scatter**2 + before * log(prior)) / (
        information + before
    )
    return exp(level), sqrt(scatter**2 + 1 / (information + before))
