"""The electrical energy of a firing, from the kiln's rated power and its response."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, isfinite, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from schedules.services.curve import Curve
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse
from studio.services.response_parameters import parameters, with_parameters

Floats = NDArray[np.float64]

WALLS = 1.18
"""Power below full counts this much more than a body of one temperature would need: in a slow
firing the walls take up heat that they don't at full power (measured on simulated kilns)."""
MODEL_ERROR = 0.12
"""Standard deviation of ln(metered / computed) between kilns (measured on simulated kilns)."""
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
ROUNDS = 25
_BISECTIONS = 60
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


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


def planned_energy(curve: Curve, rated_kw: float, factor: EnergyFactor | None = None) -> EnergyUse:
    """The energy of a planned curve.

    Full-power pieces take the rated power, switched-off ones none: both exact. Along straight
    pieces see `power_share`, integrated by eight Gauss nodes between its bends.

    Parameters
    ----------
    curve : planned with the kiln's response
    rated_kw : kW at full power
    factor : of the kiln; one of fewer than two metered firings is left aside

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
    full = sum(
        piece.end - piece.start
        for piece in curve.pieces
        if piece.constant and piece.asymptote > piece.first
    )
    lines = [
        (piece.end - piece.start, piece.first, piece.last)
        for piece in curve.pieces
        if not piece.constant
    ]
    return _use(full, 0.0, 0.0, lines, curve.response, rated_kw, factor)


def recorded_energy(
    times: ArrayLike,
    temperatures: ArrayLike,
    response: KilnResponse,
    rated_kw: float,
    factor: EnergyFactor | None = None,
    *,
    gaps: Sequence[tuple[float, float]] = (),
) -> EnergyUse:
    """The energy of a firing as it was recorded.

    Readings closer than ten minutes are averaged; between the averages the course is straight. In a
    gap the least is what the kiln takes when it cools first and heats last, the most when it heats
    first and cools last, to where it was seen again, with what `WALLS` adds.

    Parameters
    ----------
    times : s, rising, shape (n,)
    temperatures : °C by the display, shape (n,); unknown ones (NaN) are left out
    response : the kiln's
    rated_kw : kW at full power
    factor : of the kiln; one of fewer than two metered firings is left aside
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
    >>> held = recorded_energy([0.0, 1200.0, 2400.0], [520.0, 520.0, 520.0], kiln, 6.0)
    >>> round(held.kwh, 3)  # 6 kW × 2400 s × WALLS × 250 / (250 + 250)
    2.36
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
    lines: list[tuple[float, float, float]] = []
    least = most = 0.0
    parts = np.split(np.arange(moments.size), np.flatnonzero(cut) + 1)
    before: tuple[float, float] | None = None
    for part in parts:
        at, level = _averaged(moments[part], shown[part])
        if before is not None:
            low, high = _gap_bounds(before[1], float(level[0]), float(at[0]) - before[0], response)
            least, most = least + low, most + high
        spans = zip(np.diff(at).tolist(), level[:-1].tolist(), level[1:].tolist(), strict=True)
        lines += spans
        before = float(at[-1]), float(level[-1])
    return _use(0.0, least, most, lines, response, rated_kw, factor)


def power_share(temperature: ArrayLike, rate: ArrayLike, response: KilnResponse) -> Floats:
    """The share of full power that keeps a kiln on its course, 0 to 1.

    C dT/dt = P·share − loss(T), with C and the loss over P from the response: at full power
    dT/dt is the rise, switched off it is minus the fall, so that C = P / (rise + fall) and
    share = (dT/dt + fall) / (rise + fall), times `WALLS`.

    Parameters
    ----------
    temperature : °C, any shape
    rate : °C/h, negative downwards; one, or of the shape of `temperature`
    response : the kiln's

    Returns
    -------
    shape of `temperature`

    Examples
    --------
    >>> kiln = KilnResponse(1020.0, 7200.0, 7200.0)
    >>> power_share([20.0, 1020.0], 500.0, kiln).tolist()
    [1.0, 1.0]
    >>> float(power_share(520.0, -250.0, kiln))
    0.0
    """
    celsius = np.asarray(temperature, dtype=np.float64)
    fall = np.maximum(response.fall_at(celsius), 0.0)
    rise = np.maximum(response.rise_at(celsius), 0.0)
    return np.asarray(
        np.clip(WALLS * (np.asarray(rate) + fall) / (rise + fall), 0.0, 1.0), dtype=np.float64
    )


def _refuse_power(rated_kw: float) -> None:
    if not (isfinite(rated_kw) and rated_kw > 0):
        raise ValueError(f"A kiln's power is positive: {rated_kw} kW.")


def _use(
    full: float,
    gap_least: float,
    gap_most: float,
    lines: Sequence[tuple[float, float, float]],
    response: KilnResponse,
    rated_kw: float,
    factor: EnergyFactor | None,
) -> EnergyUse:
    """From s at full power, bounds of s in gaps, and lines of (s, °C, °C)."""
    sure = full + _line_seconds(lines, response)
    middle = sure + (gap_least + gap_most) / 2
    if factor is not None and factor.counts:
        value, error = factor.value, sqrt(factor.error**2 + FIRING_SCATTER**2)
    else:
        # Learnt figures that are unsure make the whole unsure, on top of the model's own error.
        value = 1.0
        spread = _spread(lines, response) / middle if middle > 0 else 0.0
        error = sqrt(MODEL_ERROR**2 + spread**2)
    scale = value * rated_kw / SECONDS_PER_HOUR
    return EnergyUse(scale * middle, scale * (sure + gap_least), scale * (sure + gap_most), error)


def _spread(lines: Sequence[tuple[float, float, float]], response: KilnResponse) -> float:
    """s at full power, standard deviation by the response's covariance, to first order."""
    if response.covariance is None:
        return 0.0
    values, deviations = parameters(response), np.sqrt(np.diag(response.covariance))
    known = replace(response, covariance=None)
    slopes = np.zeros(values.size)
    for place in np.flatnonzero(deviations > 0).tolist():
        step = np.zeros(values.size)
        step[place] = deviations[place] / 2
        above = _line_seconds(lines, with_parameters(known, (values + step).tolist()))
        below = _line_seconds(lines, with_parameters(known, (values - step).tolist()))
        slopes[place] = (above - below) / deviations[place]
    return sqrt(max(float(slopes @ response.covariance @ slopes), 0.0))


def _line_seconds(lines: Sequence[tuple[float, float, float]], response: KilnResponse) -> float:
    """s at full power that the power along these lines comes to."""
    if not lines:
        return 0.0
    seconds, first, last = np.array(lines, dtype=np.float64).T
    rate = (last - first) / seconds * SECONDS_PER_HOUR
    low, high = np.minimum(first, last), np.maximum(first, last)
    bends = np.clip(_bends(rate, response), low[:, None], high[:, None])
    edges = np.sort(np.column_stack((low, bends, high)), axis=1)
    half = np.diff(edges, axis=1)[..., None] / 2
    nodes = edges[:, :-1, None] + half + half * _NODES
    shares = power_share(nodes, rate[:, None, None], response)
    flat = high == low
    over = np.sum(shares * half * _WEIGHTS, axis=(1, 2)) / np.where(flat, 1.0, high - low)
    return float(np.sum(seconds * np.where(flat, power_share(low, 0.0, response), over)))


def _bends(rate: Floats, response: KilnResponse) -> Floats:
    """°C at which the share of power bends, a row for each rate (°C/h): room, limit, split, and
    where it meets 0 and 1."""
    ambient, limit = response.ambient, response.full_power_limit
    found: list[Floats | float] = [ambient, limit]
    constants = [response.cooling_time_constant]
    if response.slow_cooling_time_constant is not None:
        found.append(response.slow_cooling_below)
        constants.append(response.slow_cooling_time_constant)
    heating = SECONDS_PER_HOUR / response.heating_time_constant
    for constant in constants:
        cooling = SECONDS_PER_HOUR / constant
        found.append(ambient - rate / cooling)
        # WALLS (rate + cooling (T − ambient)) = heating (limit − T) + cooling (T − ambient)
        slope = (WALLS - 1) * cooling + heating
        found.append((heating * limit + (WALLS - 1) * cooling * ambient - WALLS * rate) / slope)
    return np.column_stack(np.broadcast_arrays(*found, rate)[:-1])


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
