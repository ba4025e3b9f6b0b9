"""The curve that a kiln will follow when it is given a schedule.

Exact: each curve is a chain of straight pieces, where the kiln keeps to the setpoint, and of
exponentials, where it is at full power or switched off. Nothing is stepped through time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, inf, isfinite, sqrt
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from schedules.services.kiln_run import KilnRun, Piece
from studio.services.glass import Glass, fluidity, mean_fluidity
from studio.services.kiln_response import REACH, SECONDS_PER_HOUR, KilnResponse

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Segment:
    """A rate to a target, then a hold.

    Parameters
    ----------
    rate : °C per hour, a positive difference whose direction comes from the target before; None is
        full power, which downwards is as fast as the kiln cools
    target : °C
    hold : s
    """

    rate: float | None
    target: float
    hold: float = 0.0


@dataclass(frozen=True, slots=True)
class Span:
    """When a segment's ramp begins, its hold begins and its hold ends, in s from the start."""

    ramp_start: float
    hold_start: float
    hold_end: float


SAMPLING_ERROR = 0.1
"""°C by which a chord between two samples of `Curve.times` may miss the curve."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_QUADRATURE_STEP = 20.0
"""°C covered by one eight-node quadrature of 1/η; an e-fold of 1/η is 10 °C or more."""


@dataclass(frozen=True, eq=False)
class Curve:
    """What `planned_curve` gives: the kiln's temperature from the start on.

    Attributes
    ----------
    start : °C at 0 s
    pieces : the chain of straight and exponential pieces, without a gap
    spans : one for each segment that was finished
    unreached : index of the target that the kiln cannot reach, at which the curve ends, or None
    response : the kiln's
    segments : the schedule, as it was given
    """

    start: float
    pieces: tuple[Piece, ...]
    spans: tuple[Span, ...]
    unreached: int | None
    response: KilnResponse
    segments: tuple[Segment, ...]

    @property
    def _end(self) -> float:
        return self.pieces[-1].end if self.pieces else 0.0

    @property
    def _last(self) -> float:
        return self.pieces[-1].last if self.pieces else self.start

    @property
    def duration(self) -> float | None:
        """Seconds to the end of the last segment; None where a target is not reached."""
        return None if self.unreached is not None else self._end

    @property
    def peak(self) -> float:
        """The highest temperature, °C."""
        return max(self.start, max((piece.last for piece in self.pieces), default=self.start))

    @property
    def times(self) -> Floats:
        """Sample times in s, rising: the ends of the pieces, and more along exponentials.

        A straight line between two samples misses the curve by no more than `SAMPLING_ERROR`.
        """
        return self._samples[0]

    @property
    def temperatures(self) -> Floats:
        """°C at `times`."""
        return self._samples[1]

    @cached_property
    def _table(self) -> Floats:
        """The pieces' numbers: one row for each field of `Piece`."""
        return np.array(self.pieces, dtype=np.float64).reshape(-1, 6).T

    @cached_property
    def _samples(self) -> tuple[Floats, Floats]:
        counts = [_sample_count(piece) for piece in self.pieces]
        total = sum(counts)
        times, temperatures = np.empty(total + 1), np.empty(total + 1)
        times[0], temperatures[0] = 0.0, self.start
        if total:
            ends = np.cumsum(counts)
            index = np.repeat(np.arange(len(counts)), counts)
            share = (np.arange(1, total + 1) - np.repeat(ends - counts, counts)) / np.repeat(
                counts, counts
            )
            begin, end, first, _, asymptote, constant = self._table[:, index]
            elapsed = share * (end - begin)
            times[1:] = begin + elapsed
            temperatures[1:] = asymptote + (first - asymptote) * np.exp(
                -elapsed / np.where(constant > 0, constant, 1.0)
            )
            # The ends exactly as they are, which is all that there is of a straight piece.
            times[ends], temperatures[ends] = self._table[1], self._table[3]
        return times, temperatures

    @overload
    def at(self, seconds: float) -> float: ...
    @overload
    def at(self, seconds: ArrayLike) -> Floats: ...
    def at(self, seconds: ArrayLike) -> Floats | float:
        """°C at `seconds` from the start (any shape; a float for a float).

        Before the start it is the start's temperature; after the last segment the kiln cools
        freely. NaN after the end of a curve whose target is not reached: nothing is known there.
        """
        asked = np.maximum(np.asarray(seconds, dtype=np.float64), 0.0)
        result = np.full(asked.shape, self.start)
        if self.pieces:
            starts = self._table[0]
            index = np.clip(np.searchsorted(starts, asked, side="right") - 1, 0, None)
            begin, end, first, last, asymptote, constant = self._table[:, index]
            elapsed = np.minimum(asked, end) - begin
            curved = asymptote + (first - asymptote) * np.exp(
                -elapsed / np.where(constant > 0, constant, 1.0)
            )
            result = np.where(
                constant > 0, curved, first + (last - first) * elapsed / (end - begin)
            )
        after = asked > self._end
        if np.any(after):
            tail = (
                self.response.cooled(self._last, np.maximum(asked - self._end, 0.0))
                if self.unreached is None
                else np.full(asked.shape, np.nan)
            )
            result = np.where(after, tail, result)
        return float(result) if result.ndim == 0 else result

    def cool_to(self, temperature: float) -> float | None:
        """Seconds from the start after which the kiln stays at or below `temperature` (°C).

        Free cooling after the last segment is counted. None at or below ambient, which a kiln
        never quite comes to, and where a target is not reached.
        """
        if self.unreached is not None or temperature <= self.response.ambient:
            return None
        if self._last > temperature:
            return self._end + self.response.cooling_time(self._last, temperature)
        for piece in reversed(self.pieces):
            if piece.first > temperature:
                return piece.time_at(temperature)
        return 0.0

    def heat_work(self, glass: Glass) -> float:
        """∫ dt/η in 1/Pa, from the start through free cooling after the last segment.

        Closed form on straight pieces, Gauss–Legendre quadrature on exponentials, both to 1e-6.

        Raises
        ------
        ValueError
            Where a target is not reached: such a curve has no end to integrate to.
        """
        if self.unreached is not None:
            raise ValueError(f"The kiln does not reach the target of segment {self.unreached + 1}.")
        pieces = [*self.pieces, *self._free_cooling()]
        if not pieces:
            return 0.0
        means = mean_fluidity([pieces[0].first, *(piece.last for piece in pieces)], glass)
        straight: float = sum(
            (piece.end - piece.start) * mean
            for piece, mean in zip(pieces, means.tolist(), strict=True)
            if not piece.constant
        )
        nodes: list[Floats] = []
        weights: list[Floats] = []
        for piece in pieces:
            if piece.constant:
                edges = _quadrature_edges(piece, glass.annealing_point)
                half = np.diff(edges) / 2
                elapsed = (edges[:-1] + half)[:, None] + half[:, None] * _NODES
                gap = (piece.first - piece.asymptote) * np.exp(-elapsed / piece.constant)
                nodes.append((piece.asymptote + gap).ravel())
                weights.append((half[:, None] * _WEIGHTS).ravel())
        if nodes:
            curved = np.dot(np.concatenate(weights), fluidity(np.concatenate(nodes), glass))
            return straight + float(curved)
        return straight

    def _free_cooling(self) -> list[Piece]:
        """After the last segment, down to where nothing more happens to the glass."""
        run = KilnRun(self._last, self.response, self._end)
        cold = self.response.ambient + REACH
        if cold < self._last:
            run.go(cold, inf)
        return run.pieces


def _sample_count(piece: Piece) -> int:
    if not piece.constant:
        return 1
    # A chord over an exponential of height h and a step of s time constants misses it by h·s²/8.
    height = abs(piece.asymptote - piece.first)
    return ceil((piece.end - piece.start) / piece.constant * sqrt(height / (8 * SAMPLING_ERROR)))


def _quadrature_edges(piece: Piece, border: float) -> Floats:
    """Seconds from the piece's start, in steps of temperature, with one at `border` (°C)."""
    low, high = sorted((piece.first, piece.last))
    steps = ceil((high - low) / _QUADRATURE_STEP)
    levels = np.linspace(piece.first, piece.last, steps + 1)
    if low < border < high:
        levels = np.append(levels, border)
    edges = piece.constant * np.log((piece.asymptote - piece.first) / (piece.asymptote - levels))
    return np.sort(edges)


def planned_curve(
    segments: Sequence[Segment],
    response: KilnResponse,
    start: float | None = None,
    waits: bool = True,
) -> Curve:
    """The curve of a kiln that is given a schedule. A ramp is never faster than the kiln.

    With `waits=True` the setpoint never leaves the kiln: a ramp is straight as long as the kiln
    can follow, up to T* = limit − rate × constant (down to T* = ambient + rate × constant), then
    exponential; the hold starts when the target is reached. With `waits=False` the setpoint runs
    on by the clock and the kiln chases it. A full-power ramp has no clock: its hold starts when
    the target is reached, either way.

    A target within 1 °C of the kiln's limit or of ambient, or beyond, is not reached: the kiln
    goes as far as 1 °C from there, and the curve ends.

    Parameters
    ----------
    segments : see `Segment`
    response : the kiln's
    start : °C of the kiln at the start; by default its room's
    waits : whether the controller waits for the kiln

    Returns
    -------
    Curve, whose crossings are exact to 1e-6 s.

    Raises
    ------
    ValueError
        For a rate that is not positive, a negative hold, a number that is not finite, or a start
        at or above the kiln's limit.

    Examples
    --------
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0)
    >>> curve = planned_curve([Segment(100.0, 520.0, 600.0), Segment(None, 800.0, 600.0)], kiln)
    >>> curve.peak, [round(span.hold_start) for span in curve.spans]
    (800.0, [18000, 23347])
    """
    temperature = response.ambient if start is None else float(start)
    if not -inf < temperature < response.full_power_limit:
        raise ValueError(f"No kiln with this limit starts at {temperature} °C.")
    for number, segment in enumerate(segments, 1):
        _refuse_nonsense(number, segment)
    run = KilnRun(temperature, response)
    spans: list[Span] = []
    unreached = None
    setpoint = temperature
    for index, segment in enumerate(segments):
        began, target = run.time, float(segment.target)
        rate = inf if segment.rate is None else segment.rate / SECONDS_PER_HOUR
        if not response.reaches(target):
            unreached = index
            _approach(run, setpoint, target, rate, waits)
            break
        if waits or segment.rate is None:
            run.go(target, rate)
        else:
            distance = target - setpoint
            run.chase(setpoint, rate if distance > 0 else -rate, abs(distance) / rate)
        holds = run.time
        if waits or run.temperature == target:
            run.hold(segment.hold)
        else:
            run.chase(target, 0.0, segment.hold)
        setpoint = target
        spans.append(Span(began, holds, run.time))
    pieces = tuple(run.pieces)
    return Curve(temperature, pieces, tuple(spans), unreached, response, tuple(segments))


def _approach(run: KilnRun, setpoint: float, target: float, rate: float, waits: bool) -> None:
    """Towards a target out of reach, up to 1 °C from what keeps the kiln from it."""
    coldest = run.response.ambient + REACH
    hottest = run.response.full_power_limit - REACH
    if target >= hottest > run.temperature:
        near = hottest
    elif target <= coldest < run.temperature:
        near = coldest
    else:
        return
    if not waits and rate < inf:
        distance = near - setpoint
        run.chase(setpoint, rate if distance > 0 else -rate, abs(distance) / rate)
        rate = inf
    run.go(near, rate)


def _refuse_nonsense(number: int, segment: Segment) -> None:
    if segment.rate is not None and not 0 < segment.rate < inf:
        raise ValueError(f"Segment {number}: a rate is a positive number, not {segment.rate}.")
    if not 0 <= segment.hold < inf:
        raise ValueError(f"Segment {number}: a hold is 0 s or longer, not {segment.hold}.")
    if not isfinite(segment.target):
        raise ValueError(f"Segment {number}: a target is a number, not {segment.target}.")
