"""Where a recording shows the kiln by itself: at full power, and switched off.

A kiln is at full power where it is asked for that, or where it lies below its setpoint and is
slower than asked; it is switched off on a full-power way down, where it falls slower than asked,
and after its last segment. The hotter a kiln, the slower it heats at full power: what was slower
than the same firing was when far hotter, something else held back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from firings.services.interruptions import Interruption
from firings.services.readings import Readings
from firings.services.segment_finding import FoundSegment, find_segments
from schedules.services.curve import Curve
from studio.services.kiln_response import SECONDS_PER_HOUR

Floats = NDArray[np.float64]

HALF_WINDOW = 180.0
"""s to both sides over which a rate is taken; samples lie as far apart as their windows reach."""
WARMING = 420.0
"""s after a ramp began in which elements, chamber and thermocouple only follow it."""
EASING = 25.0
"""°C before a target in which a controller may already ease off."""
SLOWER = 0.9
"""Share of the asked rate below which the kiln is slower than asked."""
BEHIND = 8.0
"""°C below its setpoint from which a kiln is behind it."""
FAR_HOTTER = 100.0
"""°C by which a kiln is slower at full power beyond doubt: the noise of a rate is less."""
FASTER_SAMPLES = 3
"""So many faster samples, far hotter, show that a kiln could have gone faster."""
COLD = 60.0
"""°C above the room down to which cooling is followed: below, an opened lid tells more."""
LEAST_FALL = 0.12
"""Least ln of the fall, counted from the room, that says something of a cooling constant."""


@dataclass(frozen=True, eq=False)
class Heating:
    """A kiln at full power: samples over one firing, shape (n,).

    Attributes
    ----------
    times : s, in the middle of each sample
    temperatures : °C
    rates : °C/h
    error : °C/h, standard deviation of a rate by the noise of the readings
    """

    times: Floats
    temperatures: Floats
    rates: Floats
    error: float


@dataclass(frozen=True)
class Cooling:
    """A kiln switched off: over one firing, above and below the split of its two constants.

    Attributes
    ----------
    fast, slow : s of the time constant that the fall took there, or None
    fast_fall, slow_fall : ln of the fall that it was taken from
    """

    fast: float | None
    slow: float | None
    fast_fall: float
    slow_fall: float


@dataclass(frozen=True)
class Stretches:
    """What one recording shows of the kiln by itself; None where it doesn't.

    `falls`: from and to, s, where it was switched off.
    """

    heating: Heating | None
    cooling: Cooling | None
    falls: tuple[tuple[float, float], ...] = ()


def kiln_stretches(plan: Curve, readings: Readings, ambient: float, split: float) -> Stretches:
    """Find the stretches at full power and switched off.

    Parameters
    ----------
    plan : of at least one segment
    readings : see `Readings`
    ambient : °C of the room
    split : °C below which the slow cooling constant rules

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1100.0, 7200.0, 9000.0, slow_cooling_time_constant=18000.0)
    >>> plan = planned_curve([Segment(None, 800.0, 600.0)], kiln)
    >>> times = np.arange(0.0, 60000.0, 30.0)
    >>> seen = kiln_stretches(plan, Readings.of(Recording(times, plan.at(times))), 20.0, 370.0)
    >>> round(seen.cooling.fast / 1000), round(seen.cooling.slow / 1000)
    (9, 18)
    >>> round(float(np.interp(700.0, seen.heating.temperatures, seen.heating.rates)))
    200
    """
    finding = find_segments(plan, readings)
    look = _Looking(plan, readings, finding.interruptions)
    climbs: list[_Climb] = []
    falls: list[tuple[float, float]] = []
    origin = float(plan.start)
    for segment, found in zip(plan.segments, finding.segments, strict=True):
        if found.ramp_start is not None and found.hold_end is not None:
            if segment.target > origin:
                climbs.append(look.climb(segment.rate, segment.target, found))
            else:
                falls += look.switched_off(segment.rate, segment.target, found)
        origin = segment.target
    ends = [found.hold_end for found in finding.segments if found.hold_end is not None]
    if ends:
        falls.append((max(ends), float(readings.times[-1])))
    return Stretches(
        _heating(climbs, readings),
        _cooling(falls, readings, look.interruptions, ambient, split),
        tuple(falls),
    )


@dataclass(frozen=True, eq=False)
class _Climb:
    """A ramp up: moments (s), levels (°C), rates (°C/h), and which look like the kiln's own."""

    times: Floats
    temperatures: Floats
    rates: Floats
    own: NDArray[np.bool_]


@dataclass(frozen=True)
class _Looking:
    plan: Curve
    readings: Readings
    interruptions: Sequence[Interruption]

    def climb(self, rate: float | None, target: float, found: FoundSegment) -> _Climb:
        at, level, pace = self._samples(found)
        own = (at > self._start(found) + WARMING) & (level < target - EASING)
        if rate is not None and at.size:
            asked = level[0] + rate / SECONDS_PER_HOUR * (at - at[0])
            # A setpoint that waits stays near the kiln: then only its pace tells.
            own &= (pace < SLOWER * rate) & (asked - level > BEHIND)
        return _Climb(at, level, pace, own)

    def switched_off(
        self, rate: float | None, target: float, found: FoundSegment
    ) -> list[tuple[float, float]]:
        """From and to, s, of a ramp down where the kiln fell by itself."""
        at, level, pace = self._samples(found)
        kept = (at > self._start(found) + HALF_WINDOW) & (level > target + EASING / 2)
        if rate is not None:
            kept &= -pace < SLOWER * rate
        if np.count_nonzero(kept) < 2:
            return []
        places = np.flatnonzero(kept)
        runs = np.split(places, np.flatnonzero(np.diff(places) > 1) + 1)
        return [(float(at[run[0]]), float(at[run[-1]])) for run in runs if run.size > 1]

    @staticmethod
    def _start(found: FoundSegment) -> float:
        return found.ramp_start if found.ramp_start is not None else 0.0

    def _samples(self, found: FoundSegment) -> tuple[Floats, Floats, Floats]:
        """Moments (s) along a ramp, with level (°C) and rate (°C/h), clear of interruptions."""
        end = found.hold_start if found.hold_start is not None else found.hold_end
        step = max(2 * HALF_WINDOW, 3 * self.readings.spacing)
        at = np.arange(self._start(found) + step / 2, (end or 0.0) - step / 2, step)
        level, slope = self.readings.lines(at, step / 2, least=3)
        clear = np.isfinite(slope)
        for each in self.interruptions:
            clear &= (at + step / 2 < each.begin) | (at - step / 2 > each.end)
        return at[clear], level[clear], slope[clear] * SECONDS_PER_HOUR


def _heating(climbs: Sequence[_Climb], readings: Readings) -> Heating | None:
    if not climbs:
        return None
    times = np.concatenate([each.times for each in climbs])
    temperatures = np.concatenate([each.temperatures for each in climbs])
    rates = np.concatenate([each.rates for each in climbs])
    own = np.concatenate([each.own for each in climbs])
    own &= (rates > 0) & (rates > SLOWER * _faster_when_hotter(temperatures, rates))
    if not own.any():
        return None
    window = max(2 * HALF_WINDOW, 3 * readings.spacing)
    count = max(window / readings.spacing, 3.0)
    error = readings.noise * (12.0 / count) ** 0.5 / window * SECONDS_PER_HOUR
    return Heating(times[own], temperatures[own], rates[own], error)


def _faster_when_hotter(temperatures: Floats, rates: Floats) -> Floats:
    """For each sample the rate (°C/h) that the same firing surely reached when far hotter, or 0."""
    found = np.zeros(rates.size)
    for place, temperature in enumerate(temperatures.tolist()):
        hotter = np.sort(rates[temperatures > temperature + FAR_HOTTER])
        if hotter.size >= FASTER_SAMPLES:
            found[place] = hotter[-FASTER_SAMPLES]
    return found


def _cooling(
    falls: Sequence[tuple[float, float]],
    readings: Readings,
    interruptions: Sequence[Interruption],
    ambient: float,
    split: float,
) -> Cooling | None:
    """Time over ln of the fall, so that the whole of a firing's cooling takes as long as it did."""
    spent, fallen = np.zeros(2), np.zeros(2)
    for begin, end in falls:
        for first, last in _around(begin, end, interruptions):
            for side, (seconds, drop) in enumerate(_fall(readings, first, last, ambient, split)):
                spent[side] += seconds
                fallen[side] += drop
    fast, slow = (
        float(seconds / drop) if drop > LEAST_FALL else None
        for seconds, drop in zip(spent.tolist(), fallen.tolist(), strict=True)
    )
    if fast is None and slow is None:
        return None
    return Cooling(fast, slow, float(fallen[0]), float(fallen[1]))


def _around(
    begin: float, end: float, interruptions: Sequence[Interruption]
) -> list[tuple[float, float]]:
    """A stretch without its valleys. A gap with the kiln off takes its time all the same."""
    parts, now = [], begin
    for each in interruptions:
        if each.depth > 0 and each.end > now and each.begin < end:
            parts.append((now, min(each.begin, end)))
            now = max(now, each.end)
    parts.append((now, end))
    return [(first, last) for first, last in parts if last > first]


def _fall(
    readings: Readings, begin: float, end: float, ambient: float, split: float
) -> list[tuple[float, float]]:
    """Seconds and ln of the fall, above the split and below it."""
    times, shown = readings.between(begin, end)
    if times.size < 4:
        return [(0.0, 0.0), (0.0, 0.0)]
    level, _ = readings.lines(times, max(HALF_WINDOW, 1.5 * readings.spacing))
    level = np.minimum.accumulate(np.where(np.isfinite(level), level, shown))
    warm = level > ambient + COLD
    if np.count_nonzero(warm) < 4:
        return [(0.0, 0.0), (0.0, 0.0)]
    times, excess = times[warm], level[warm] - ambient
    turn = float(np.interp(-(split - ambient), -excess, times))
    found = []
    for first, last in ((times[0], turn), (turn, times[-1])):
        if last <= first:
            found.append((0.0, 0.0))
            continue
        top, bottom = np.interp([first, last], times, excess)
        found.append((float(last - first), log(top / bottom)))
    return found
