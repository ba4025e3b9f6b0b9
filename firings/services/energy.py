"""The electrical energy of a firing, from the kiln's rated power, its response and its walls."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, hypot, isfinite, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firings.services.walls import Walls, needed_share, walls_of
from schedules.services.curve import Curve
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse

Floats = NDArray[np.float64]

WALLS = 1.2
"""What a kiln takes at most over what a body of one temperature would need, where it was not seen
(measured on simulated kilns)."""
MODEL_ERROR = 0.12
"""Standard deviation of ln(metered / computed) between kilns whose walls are not known (measured on
simulated kilns)."""
PLATE_ERROR = 0.05
"""The same of what elements really take over what their plate says: they age, and the supply is
seldom as written (our own estimate; EN 50160 lets it differ by 10 %)."""
FIRING_SCATTER = 0.04
"""The same from firing to firing of one kiln (measured on simulated kilns, rounded up)."""
LEAST_METERED = 2
"""Metered firings from which a kiln's factor is used."""
CLOSE = 2.0
"""Scatters from which a metered firing counts less."""
WINDOW = 600.0
"""s over which closer readings are averaged, so that their noise doesn't pass for power."""
GAP = 1800.0
"""s between two readings from which nothing is known of what lies between."""
STEP = 300.0
"""s of a step along a course, at most."""
LEAST_SHARE = 0.03
"""Of full power, below which a kiln that cools counts as switched off."""
ROUNDS = 25
_BISECTIONS = 60


@dataclass(frozen=True)
class EnergyUse:
    """What a firing took.

    Attributes
    ----------
    kwh : kWh, best estimate; where there are gaps, in the middle of `least` and `most`
    least, most : kWh, the bounds that gaps in the recording leave; equal without gaps
    relative_error : standard deviation of ln(true / kwh), gaps left out

    Examples
    --------
    >>> EnergyUse(20.0, 18.0, 22.0, 0.1).standard_deviation
    2.0
    """

    kwh: float
    least: float
    most: float
    relative_error: float

    @property
    def standard_deviation(self) -> float:
        """kWh, gaps left out."""
        return self.kwh * self.relative_error


@dataclass(frozen=True)
class EnergyFactor:
    """What a kiln takes over what is computed for it.

    Attributes
    ----------
    value : metered over computed; 1 where nothing was metered
    error : standard deviation of its ln
    firings : number of metered firings that it rests on
    """

    value: float
    error: float
    firings: int

    @property
    def counts(self) -> bool:
        """Whether enough firings were metered for it to be used."""
        return self.firings >= LEAST_METERED


def learn_energy_factor(metered: Sequence[tuple[float, float]]) -> EnergyFactor:
    """A kiln's factor from its metered firings: robust, and drawn to 1 while they are few.

    Parameters
    ----------
    metered : (computed, metered) in kWh for each firing, computed without a factor

    Returns
    -------
    EnergyFactor

    Raises
    ------
    ValueError
        For an energy that is not positive and finite.

    Notes
    -----
    The mean of ln(metered / computed) with a normal prior about 0 of `MODEL_ERROR` and a scatter of
    `FIRING_SCATTER`; firings far from the median count less (standard theory, Huber's weights).

    Examples
    --------
    >>> factor = learn_energy_factor([(20.0, 22.0), (30.0, 33.0)])
    >>> round(factor.value, 3), factor.counts
    (1.094, True)
    """
    for pair in metered:
        if not all(isfinite(each) and each > 0 for each in pair):
            raise ValueError(f"Energies are positive: {pair[0]} and {pair[1]} kWh.")
    before = 1 / MODEL_ERROR**2
    if not metered:
        return EnergyFactor(1.0, MODEL_ERROR, 0)
    levels = np.array([log(found / computed) for computed, found in metered])
    middle, weights = float(np.median(levels)), np.ones(levels.size)
    for _ in range(ROUNDS):
        apart = np.abs(levels - middle) / FIRING_SCATTER
        weights = 1.0 / np.maximum(apart / CLOSE, 1.0)
        middle = float(np.average(levels, weights=weights))
    # What was metered and scatters more than usual says less.
    scatter = max(FIRING_SCATTER, float(np.median(np.abs(levels - middle))) * 1.4826)
    information = float(weights.sum()) / scatter**2
    level = information * middle / (information + before)
    return EnergyFactor(exp(level), sqrt(1 / (information + before)), len(metered))


def planned_energy(
    curve: Curve,
    rated_kw: float,
    factor: EnergyFactor | None = None,
    *,
    walls: Walls | None = None,
) -> EnergyUse:
    """The energy of a planned curve.

    Full-power pieces take the rated power, switched-off ones none: both exact. Along straight
    pieces the chamber's balance tells, with the heat that the walls take up or give back.

    Parameters
    ----------
    curve : planned with the kiln's response
    rated_kw : kW at full power
    factor : of the kiln; one of fewer than two metered firings is left aside
    walls : the kiln's, as they were learnt; else what is usual of a kiln of this response

    Returns
    -------
    EnergyUse

    Raises
    ------
    ValueError
        For a power that is not positive, or a curve whose target is not reached.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> kiln = KilnResponse(1020.0, 7200.0, 7200.0)
    >>> curve = planned_curve([Segment(None, 520.0)], kiln)  # 7200 s × ln 2 at 6 kW
    >>> round(planned_energy(curve, 6.0).kwh, 3)
    8.318
    """
    _refuse_power(rated_kw)
    if curve.unreached is not None:
        raise ValueError(f"The kiln does not reach the target of segment {curve.unreached + 1}.")
    walls = walls or _walls(curve.response)
    pieces = [piece for piece in curve.pieces if piece.end > piece.start]
    if not pieces:
        return _use(0.0, 0.0, 0.0, walls, rated_kw, factor)
    edges = np.array([piece.start for piece in pieces] + [pieces[-1].end])
    times = _refined(edges)
    steps = np.diff(times)
    needed = _seconds(times, curve.at(times), walls, curve.response.ambient)
    of_piece = np.searchsorted(edges, times[:-1] + steps / 2) - 1
    free = np.array([piece.constant for piece in pieces])[of_piece]
    heating = np.array([piece.asymptote > piece.first for piece in pieces])[of_piece]
    seconds = float(np.where(free, np.where(heating, steps, 0.0), needed).sum())
    return _use(seconds, 0.0, 0.0, walls, rated_kw, factor)


def recorded_energy(
    times: ArrayLike,
    temperatures: ArrayLike,
    response: KilnResponse,
    rated_kw: float,
    factor: EnergyFactor | None = None,
    *,
    walls: Walls | None = None,
    gaps: Sequence[tuple[float, float]] = (),
) -> EnergyUse:
    """The energy of a firing as it was recorded.

    Readings closer than ten minutes are averaged; between the averages the course is straight. In a
    gap the least is what the kiln takes when it cools first and heats last, the most when it heats
    first and cools last, to where it was seen again, with what its walls may take (`WALLS`).

    Parameters
    ----------
    times : s, rising, shape (n,)
    temperatures : °C by the display, shape (n,); unknown ones (NaN) are left out
    response : the kiln's
    rated_kw : kW at full power
    factor : of the kiln; one of fewer than two metered firings is left aside
    walls : the kiln's, as they were learnt; else what is usual of a kiln of this response
    gaps : from and to, s; pauses of half an hour and more between readings are gaps by themselves

    Returns
    -------
    EnergyUse

    Raises
    ------
    ValueError
        For a power that is not positive, shapes that differ, times that don't rise, or fewer than
        two known readings.

    Examples
    --------
    >>> kiln = KilnResponse(1020.0, 7200.0, 7200.0)
    >>> cold = recorded_energy([0.0, 1200.0, 2400.0], [20.0, 20.0, 20.0], kiln, 6.0)
    >>> round(cold.kwh, 3)
    0.0
    """
    _refuse_power(rated_kw)
    moments = np.asarray(times, dtype=np.float64)
    shown = np.asarray(temperatures, dtype=np.float64)
    if moments.shape != shown.shape or moments.ndim != 1:
        raise ValueError(f"Times and temperatures of one shape: {moments.shape}, {shown.shape}.")
    known = np.isfinite(moments) & np.isfinite(shown)
    for begin, end in gaps:
        known &= (moments <= begin) | (moments >= end)
    moments, shown = moments[known], shown[known]
    if moments.size < 2:
        raise ValueError("Energy needs two known readings.")
    if np.any(np.diff(moments) <= 0):
        raise ValueError("Times of readings rise.")
    cut = np.diff(moments) >= GAP
    for begin, end in gaps:
        cut |= (moments[:-1] < end) & (moments[1:] > begin)
    least = most = 0.0
    parts = np.split(np.arange(moments.size), np.flatnonzero(cut) + 1)
    averaged = [_averaged(moments[part], shown[part]) for part in parts]
    silences = []
    for (at, level), (later, seen) in pairwise(averaged):
        begin, end = float(at[-1]), float(later[0])
        low, high = _gap_bounds(float(level[-1]), float(seen[0]), end - begin, response)
        least, most = least + low, most + high
        silences.append((begin, end))
    at = np.concatenate([each for each, _ in averaged])
    times = _refined(at)
    course = np.interp(times, at, np.concatenate([each for _, each in averaged]))
    walls = walls or _walls(response)
    seconds, middles = (
        _seconds(times, course, walls, response.ambient),
        (times[1:] + times[:-1]) / 2,
    )
    for begin, end in silences:
        seconds[(middles > begin) & (middles < end)] = 0.0
    return _use(float(seconds.sum()), least, most, walls, rated_kw, factor)


def _refuse_power(rated_kw: float) -> None:
    if not (isfinite(rated_kw) and rated_kw > 0):
        raise ValueError(f"A kiln's power is positive: {rated_kw} kW.")


def _use(
    sure: float,
    gap_least: float,
    gap_most: float,
    walls: Walls,
    rated_kw: float,
    factor: EnergyFactor | None,
) -> EnergyUse:
    """From s at full power: those that are known, and the bounds of those in gaps."""
    if factor is not None and factor.counts:
        value, error = factor.value, hypot(factor.error, FIRING_SCATTER)
    else:
        value, error = 1.0, hypot(walls.error, PLATE_ERROR)
    scale = value * rated_kw / SECONDS_PER_HOUR
    middle = sure + (gap_least + gap_most) / 2
    return EnergyUse(scale * middle, scale * (sure + gap_least), scale * (sure + gap_most), error)


def _walls(response: KilnResponse) -> Walls:
    """Of a kiln whose own were not learnt; learnt figures that are unsure make them unsurer."""
    plain = walls_of(response, MODEL_ERROR)
    if response.covariance is None:
        return plain
    of_rise = sqrt(max(float(response.covariance[0, 0]), 0.0)) / plain.power
    return replace(plain, error=hypot(MODEL_ERROR, of_rise))


def _seconds(times: Floats, temperatures: Floats, walls: Walls, ambient: float) -> Floats:
    """s at full power that each step of a course comes to."""
    share = needed_share(times, temperatures, walls, ambient)
    share[(share < LEAST_SHARE) & (np.diff(temperatures) < 0)] = 0.0
    return np.asarray(np.clip(share, 0.0, 1.0) * np.diff(times), dtype=np.float64)


def _refined(times: Floats) -> Floats:
    """The same moments with others between them, `STEP` apart at most."""
    steps = np.maximum(np.ceil(np.diff(times) / STEP), 1).astype(np.intp)
    first, spans = np.repeat(times[:-1], steps), np.repeat(np.diff(times) / steps, steps)
    number = np.arange(steps.sum()) - np.repeat(np.cumsum(steps) - steps, steps)
    return np.append(first + spans * number, times[-1])


def _averaged(times: Floats, temperatures: Floats) -> tuple[Floats, Floats]:
    """Means over `WINDOW`, with the first and the last reading kept where they are."""
    if times.size < 3 or float(np.median(np.diff(times))) >= WINDOW / 2:
        return times, temperatures
    bins = np.floor((times - times[0]) / WINDOW).astype(np.intp)
    starts = np.flatnonzero(np.diff(bins, prepend=-1))
    counts = np.diff(np.append(starts, times.size))
    at = np.add.reduceat(times, starts) / counts
    level = np.add.reduceat(temperatures, starts) / counts
    # Half a window at each end goes on as the window beside it.
    at[0], at[-1] = times[0], times[-1]
    return at, level


def _gap_bounds(
    first: float, last: float, seconds: float, response: KilnResponse
) -> tuple[float, float]:
    """The least and the most s at full power that lead from `first` to `last` (°C)."""

    def off_then_on(on: float) -> float:
        return response.heated(response.cooled(first, seconds - on), on)

    def on_then_off(on: float) -> float:
        return response.cooled(response.heated(first, on), seconds - on)

    bounds = []
    for course in (off_then_on, on_then_off):
        low, high = 0.0, seconds
        for _ in range(_BISECTIONS):
            middle = (low + high) / 2
            low, high = (middle, high) if course(middle) < last else (low, middle)
        bounds.append(low)
    return min(bounds), min(WALLS * max(bounds), seconds)
