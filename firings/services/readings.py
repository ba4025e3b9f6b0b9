"""The readings of a recording made ready for looking at: gaps out, thinned, their noise known."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from firings.services.recording import Recording

Floats = NDArray[np.float64]

MOST_READINGS = 10_000
"""That are looked at: 10 s apart over a day. Closer ones are averaged."""
LOGGER_STEP = 120.0
"""s between two readings up to which they are a logger's, and a longer pause is a gap."""
GAP = 180.0
"""s of a logger's silence that is a gap."""
JOINED_STEP = 60.0
"""s: spot readings farther apart are joined by straight lines, with a point at each step."""


@dataclass(frozen=True, eq=False)
class Readings:
    """What a recording's series shows, without what is unknown.

    Attributes
    ----------
    times : s, rising, shape (n,)
    temperatures : °C, finite, shape (n,)
    step : s between two readings as they were taken, the median
    gaps : from and to, s, between which nothing is known
    joined : whether points were put between readings far apart
    """

    times: Floats
    temperatures: Floats
    step: float
    gaps: tuple[tuple[float, float], ...]
    joined: bool = False

    @classmethod
    def of(cls, recording: Recording) -> "Readings | None":
        """The readings of a recording, or None where fewer than three are known.

        Examples
        --------
        >>> seen = Readings.of(Recording([0.0, 30.0, 60.0, 90.0], [20.0, 21.0, 22.0, 23.0]))
        >>> seen.step, seen.gaps, round(seen.noise, 3)
        (30.0, (), 0.0)
        """
        known = np.isfinite(recording.temperatures)
        if np.count_nonzero(known) < 3:
            return None
        times, temperatures = recording.times[known], recording.temperatures[known]
        # Of several readings at one moment the last one counts.
        last = np.append(np.diff(times) > 0, True)
        times, temperatures = times[last], temperatures[last]
        if times.size < 3:
            return None
        steps = np.diff(times)
        step = float(np.median(steps))
        logged = step <= LOGGER_STEP
        gaps = sorted(
            {
                (float(begin), float(end))
                for begin, end in recording.gaps
                if end > begin and end > times[0] and begin < times[-1]
            }
        )
        if logged:
            silent = np.flatnonzero(steps > max(GAP, 5 * step))
            pauses = zip(times[silent].tolist(), times[silent + 1].tolist(), strict=True)
            # A pause that the recording names itself is told once.
            gaps += [
                (begin, end)
                for begin, end in pauses
                if not any(begin < known[1] and known[0] < end for known in gaps)
            ]
        if not logged:
            times, temperatures = _joined(times, temperatures)
        return cls(*_averaged(times, temperatures), step, tuple(sorted(gaps)), not logged)

    @cached_property
    def noise(self) -> float:
        """Standard deviation of one point about a smooth course, °C: by third differences."""
        if self.joined or self.times.size < 8:
            return 0.0
        # A course that is straight or curved leaves nothing; white noise has a variance of 20.
        third = np.diff(self.temperatures, 3)
        return float(1.4826 * np.median(np.abs(third)) / np.sqrt(20.0))

    @cached_property
    def spacing(self) -> float:
        """s between two points, the median."""
        return float(np.median(np.diff(self.times)))

    def between(self, begin: float, end: float) -> tuple[Floats, Floats]:
        """Times and temperatures from `begin` to `end` (s), both included."""
        low = int(np.searchsorted(self.times, begin, side="left"))
        high = int(np.searchsorted(self.times, end, side="right"))
        return self.times[low:high], self.temperatures[low:high]

    @cached_property
    def _sums(self) -> tuple[Floats, ...]:
        """Running sums of 1, t, T, t² and tT, from which any window's line follows at once."""
        seconds = self.times - self.times[0]
        celsius = self.temperatures - self.temperatures.mean()
        columns = (np.ones_like(seconds), seconds, celsius, seconds**2, seconds * celsius)
        return tuple(np.concatenate([[0.0], np.cumsum(column)]) for column in columns)

    def lines(self, at: Floats, half: float, *, least: int = 2) -> tuple[Floats, Floats]:
        """The straight line through the points within `half` s of each moment.

        Parameters
        ----------
        at : s, shape (m,)
        half : s to both sides; no window reaches across a gap
        least : points that a line needs

        Returns
        -------
        Level (°C) at `at` and slope (°C/s), each of shape (m,); NaN where there are too few points.
        """
        begins, ends = at - half, at + half
        for begin, end in self.gaps:
            middle = (begin + end) / 2
            begins = np.where(at >= middle, np.maximum(begins, middle), begins)
            ends = np.where(at < middle, np.minimum(ends, middle), ends)
        low = np.searchsorted(self.times, begins, side="left")
        high = np.searchsorted(self.times, ends, side="right")
        count, s_t, s_y, s_tt, s_ty = (sums[high] - sums[low] for sums in self._sums)
        enough = count >= max(least, 2)
        count = np.where(enough, count, 1.0)
        mean_t, mean_y = s_t / count, s_y / count
        spread = s_tt / count - mean_t**2
        shared = s_ty / count - mean_t * mean_y
        enough &= spread > 0
        slope = np.where(enough, shared / np.where(spread > 0, spread, 1.0), np.nan)
        level = mean_y + slope * (at - self.times[0] - mean_t) + self.temperatures.mean()
        return level, slope


def thinned_evenly(times: Floats, shown: Floats, most: int) -> tuple[Floats, Floats]:
    """At most `most` points, each the mean of as many: s and °C, shape (n,) to (most,) or fewer.

    Examples
    --------
    >>> thinned_evenly(np.arange(6.0), np.array([0.0, 2.0, 4.0, 6.0, 8.0, 10.0]), 3)
    (array([0.5, 2.5, 4.5]), array([1., 5., 9.]))
    """
    every = -(-times.size // most)
    if every <= 1:
        return times, shown
    whole = times.size // every * every
    return (
        times[:whole].reshape(-1, every).mean(axis=1),
        shown[:whole].reshape(-1, every).mean(axis=1),
    )


def _joined(times: Floats, temperatures: Floats) -> tuple[Floats, Floats]:
    """Straight lines between readings, with a point at least every `JOINED_STEP`."""
    step = max(JOINED_STEP, float(times[-1] - times[0]) / MOST_READINGS)
    between = np.arange(times[0], times[-1], step)
    all_times = np.union1d(times, between)
    return all_times, np.interp(all_times, times, temperatures)


def _averaged(times: Floats, temperatures: Floats) -> tuple[Floats, Floats]:
    """At most `MOST_READINGS` points, each the mean of its readings."""
    if times.size <= MOST_READINGS:
        return times, temperatures
    # Equal stretches of time, so that no point lies across a long pause.
    width = float(times[-1] - times[0]) / MOST_READINGS
    place = np.floor((times - times[0]) / width)
    first = np.flatnonzero(np.concatenate([[True], np.diff(place) > 0]))
    counts = np.diff(np.append(first, times.size))
    return (
        np.add.reduceat(times, first) / counts,
        np.add.reduceat(temperatures, first) / counts,
    )
