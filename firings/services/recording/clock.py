"""Times in the order in which they pass: midnight, clock changes, restarts, and disorder.

A series must never be folded: where the clock goes back, what follows is later all the same.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.series import Floats, RecordingRemark

ClockKind = Literal["dated", "time of day", "elapsed"]

DAY, HOUR = 86_400.0, 3_600.0
SMALL_STEP_BACK = 120.0
"""s: a clock that was set right, or readings that were written out of turn."""
STEADY = 40.0
"""°C or °F between two readings that may well have been taken in a row."""
MOST_BACK = 200
"""Returns of the clock that are followed one by one; beyond, the readings are sorted."""
COARSE = 0.5
"""Share of repeated times from which the times are taken to be written too coarsely."""


@dataclass(frozen=True)
class Passing:
    """Readings in the order in which they were taken.

    Parameters
    ----------
    order : which of the given readings, shape (m,)
    seconds : their times, rising, shape (m,)
    breaks : indices into `order` before which an unknown time passed
    remarks : what was assumed and dropped
    """

    order: NDArray[np.intp]
    seconds: Floats
    breaks: tuple[int, ...]
    remarks: tuple[RecordingRemark, ...]


def newest_first(seconds: Floats) -> bool:
    """Whether a file begins with its last reading.

    Parameters
    ----------
    seconds : s, finite, in the order of the file, shape (n,)

    Examples
    --------
    >>> newest_first(np.array([90.0, 60.0, 30.0, 30.0, 0.0]))
    True
    """
    steps = np.diff(seconds)
    return bool(np.count_nonzero(steps < 0) > np.count_nonzero(steps >= 0) and steps.size > 1)


def usual_step(seconds: Floats) -> float:
    """The median time between two readings, s, one that occurs; 0 where there are none.

    Parameters
    ----------
    seconds : s, finite, in any order, shape (n,)

    Examples
    --------
    >>> usual_step(np.array([0.0, 30.0, 60.0, 60.0, 3660.0]))
    30.0
    """
    steps = np.abs(np.diff(seconds))
    steps = steps[steps > 0]
    return float(np.percentile(steps, 50.0, method="lower")) if steps.size else 0.0


def strays(seconds: Floats, kind: ClockKind) -> NDArray[np.bool_]:
    """Which single times are far from both neighbours, which are near to each other, shape (n,).

    Examples
    --------
    >>> strays(np.array([0.0, 30, 60, 9000, 120]), "elapsed").tolist()
    [False, False, False, True, False]
    """
    stray = np.zeros(seconds.size, dtype=bool)
    near = max(20 * usual_step(seconds), SMALL_STEP_BACK)
    if seconds.size < 3 or not np.any(np.diff(seconds) < -near):
        return stray
    before, at, after = seconds[:-2], seconds[1:-1], seconds[2:]
    close = np.abs(after - before) <= near
    stray[1:-1] = close & (np.abs(at - before) > near) & (np.abs(at - after) > near)
    if kind != "time of day":  # there a day may begin with the second, or the last reading
        stray[-1] = seconds[-2] - seconds[-1] > near and not stray[-2]
        stray[0] = seconds[0] - seconds[1] > near and not stray[1]
    return stray


def day_by_day(seconds: Floats) -> tuple[Floats, int]:
    """Times of day counted on over each midnight, and how many midnights passed.

    Parameters
    ----------
    seconds : s since midnight by the clock, in the order of the file, shape (n,), or NaN

    Examples
    --------
    >>> day_by_day(np.array([86370.0, np.nan, 0.0, 30.0]))[0].tolist()
    [86370.0, nan, 86400.0, 86430.0]
    """
    rows = np.flatnonzero(np.isfinite(seconds))
    rows = rows[~strays(seconds[rows], "time of day")]
    if newest_first(seconds[rows]):
        rows = rows[::-1]
    falls = np.diff(seconds[rows], prepend=seconds[rows[:1]]) < -1.5 * HOUR
    counted = np.full(seconds.size, np.nan)
    counted[rows] = seconds[rows] + DAY * np.cumsum(falls)
    return counted, int(np.count_nonzero(falls))


def pass_through(seconds: Floats, temperatures: Floats, kind: ClockKind) -> Passing:
    """Times as they passed.

    Parameters
    ----------
    seconds : s by the clock, in the order of the file, shape (n,), finite
    temperatures : shape (n,), NaN where there is none; tells a clock change from a lost day
    kind : "dated" for a date and time, "time of day", or "elapsed"

    Examples
    --------
    >>> seen = pass_through(np.array([86340.0, 86370, 0, 30]), np.full(4, 700.0), "time of day")
    >>> np.diff(seen.seconds).tolist(), seen.remarks[0].code
    ([30.0, 30.0, 30.0], 'midnight_passed')
    """
    walk = _Walk(seconds, temperatures)
    if np.all(np.diff(seconds) > 0):
        return walk.passing()
    if walk.size > 2:
        walk.keep(~strays(seconds, kind), "times_unlikely")
        walk.follow(kind)
    walk.sort()
    walk.spread_or_drop_repeats()
    return walk.passing()


class _Walk:
    def __init__(self, seconds: Floats, temperatures: Floats) -> None:
        self.order = np.arange(seconds.size)
        self.seconds = seconds.copy()
        self.temperatures = temperatures
        self.remarks: list[RecordingRemark] = []
        self.breaks: list[int] = []  # rows of the file

    @cached_property
    def step(self) -> float:
        return usual_step(self.seconds)

    @property
    def size(self) -> int:
        return int(self.order.size)

    def keep(self, kept: NDArray[np.bool_], code: str) -> None:
        dropped = self.size - int(np.count_nonzero(kept))
        if dropped:
            self.order, self.seconds = self.order[kept], self.seconds[kept]
            self.remarks.append(RecordingRemark(code, {"count": float(dropped)}))

    def follow(self, kind: ClockKind) -> None:
        """Lift what comes after each return of the clock."""
        steps = np.diff(self.seconds)
        small = max(5 * self.step, SMALL_STEP_BACK)
        back = np.flatnonzero(steps < -small) + 1
        if not back.size or back.size > MOST_BACK:
            return
        lift = np.zeros(self.size)
        changes = midnights = restarts = 0
        for at in back.tolist():
            by = -float(steps[at - 1])
            if kind != "elapsed" and abs(by - HOUR) <= 2 * self.step + 60.0 and self._steady(at):
                lift[at] = HOUR
                changes += 1
            elif kind == "time of day":
                lift[at] = DAY * np.ceil(by / DAY)
                midnights += 1
            else:
                lift[at] = by + self.step
                self.breaks.append(int(self.order[at]))
                restarts += 1
        self.seconds = self.seconds + np.cumsum(lift)
        for code, count in (
            ("clock_set_back", changes),
            ("midnight_passed", midnights),
            ("clock_restarted", restarts),
        ):
            if count:
                self.remarks.append(RecordingRemark(code, {"count": float(count)}))

    def _steady(self, at: int) -> bool:
        before, after = self.temperatures[self.order[[at - 1, at]]]
        return bool(abs(after - before) <= STEADY)

    def sort(self) -> None:
        falls = int(np.count_nonzero(np.diff(self.seconds) < 0))
        if falls:
            by_time = np.argsort(self.seconds, kind="stable")
            self.order, self.seconds = self.order[by_time], self.seconds[by_time]
            self.remarks.append(RecordingRemark("times_out_of_order", {"count": float(falls)}))

    def spread_or_drop_repeats(self) -> None:
        if self.size < 2:
            return
        new = np.concatenate(([True], np.diff(self.seconds) > 0))
        repeats = self.size - int(np.count_nonzero(new))
        if not repeats:
            return
        if repeats < COARSE * self.size or repeats == self.size - 1:
            self.keep(new, "times_repeated")
            return
        self._spread(np.flatnonzero(new))

    def _spread(self, starts: NDArray[np.intp]) -> None:
        """Put the readings that share a time evenly between it and the next."""
        counts = np.diff(np.append(starts, self.size))
        lengths = np.diff(self.seconds[starts])
        step = float(np.median(lengths / counts[:-1]))
        room = np.append(lengths, step * counts[-1])
        steps = np.minimum(step, room / counts)
        group = np.repeat(np.arange(counts.size), counts)
        place = np.arange(self.size) - starts[group]
        late = max(room[0] - steps[0] * counts[0], 0.0)  # the first began in the midst of its time
        self.seconds = self.seconds + place * steps[group] + np.where(group == 0, late, 0.0)
        self.remarks.append(RecordingRemark("times_spread", {"step": step}))

    def passing(self) -> Passing:
        broken = np.flatnonzero(np.isin(self.order, self.breaks)).tolist()
        return Passing(self.order, self.seconds, tuple(broken), tuple(self.remarks))
