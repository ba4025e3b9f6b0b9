"""Over which readings of a recording the glass can be followed, so that its stress can be told.

Between readings a series is taken for straight only where they stand close; across a gap nothing is
made up. Stress that was there before forgets itself where the glass flows, so the stretch that
counts is the last one hot enough for that, as long as it goes on to where stress is settled.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.holding import QUIET
from firings.services.readings import GAP, Readings
from firings.services.recording import Recording
from schedules.services.annealing_rules import SOAK_BELOW_STRAIN
from schedules.services.glass_course import settled_below
from studio.services.glass import Glass

Floats = NDArray[np.float64]

LONGEST_STEP = 600.0
"""s between two readings beyond which what lies between is anybody's guess."""
LUKEWARM = 100.0
"""°C up to which a piece counts as even and free of stress where the readings begin."""
SMOOTHED = 240.0
"""s to both sides over which noisy readings are smoothed: glass is too heavy to follow the noise of
a thermocouple, and within minutes no kiln turns."""
LEAST = 3
"""Readings of a stretch."""


@dataclass(frozen=True, slots=True)
class Unfollowed:
    """Why the glass can't be followed to where its stress is settled.

    "far_apart" (`begin`: s between readings), "never_hot", "begins_hot" or "ends_hot" (`begin`: °C
    of the display then), or "silent" (nothing was read from `begin` to `end`, s).
    """

    code: str
    begin: float = 0.0
    end: float = 0.0


@dataclass(frozen=True, eq=False)
class Followed:
    """Readings without a gap in which the glass can be followed.

    Attributes
    ----------
    times : s of the recording, shape (n,); empty where it can't be followed at all
    temperatures : of the glass, °C, shape (n,), smoothed where they were noisy
    since : s from which on its stress is known
    is_heating_known : whether the readings begin with the firing
    unfollowed : why it can't be followed until stress is settled; None where it can
    """

    times: Floats
    temperatures: Floats
    since: float
    is_heating_known: bool
    unfollowed: Unfollowed | None


def follow(recording: Recording, glass: Glass, offset: float = 0.0) -> Followed:
    """The stretch of a recording in which the glass can be followed.

    Parameters
    ----------
    recording : of a firing, in display temperatures
    glass : see `Glass`
    offset : °C, glass minus display

    Returns
    -------
    Followed

    Examples
    --------
    >>> times = np.arange(0.0, 72_000.0, 60.0)
    >>> shown = np.interp(times, [0.0, 18_000.0, 36_000.0, 72_000.0], [20.0, 800.0, 500.0, 60.0])
    >>> whole = follow(Recording(times, shown), Glass())
    >>> whole.is_heating_known, whole.unfollowed
    (True, None)
    >>> kept = (times < 35_000) | (times > 41_000)
    >>> follow(Recording(times[kept], shown[kept]), Glass()).unfollowed
    Unfollowed(code='silent', begin=34980.0, end=41040.0)
    """
    known = np.isfinite(recording.temperatures)
    times, celsius = recording.times[known], recording.temperatures[known] + offset
    if times.size < LEAST:
        return _nothing(Unfollowed("never_hot"))
    step = float(np.median(np.diff(times)))
    if step > LONGEST_STEP:
        return _nothing(Unfollowed("far_apart", step))
    starts = _after_gaps(times, step, recording)
    stretches = list(
        zip(np.split(times, starts), np.split(celsius, starts), strict=True),
    )
    hot = [
        index
        for index, (_, shown) in enumerate(stretches)
        if shown.size and shown.max() >= glass.strain_point - SOAK_BELOW_STRAIN
    ]
    if not hot:
        return _nothing(Unfollowed("never_hot"))
    return _followed(stretches, hot[-1], glass, offset)


def _nothing(why: Unfollowed) -> Followed:
    return Followed(np.empty(0), np.empty(0), 0.0, is_heating_known=False, unfollowed=why)


def _after_gaps(times: Floats, step: float, recording: Recording) -> NDArray[np.int64]:
    """Indices of the first reading after each gap."""
    longest = max(GAP, min(5 * step, LONGEST_STEP))
    silent = np.flatnonzero(np.diff(times) > longest) + 1
    named = [
        int(np.searchsorted(times, (begin + end) / 2))
        for begin, end in recording.gaps
        if times[0] < (begin + end) / 2 < times[-1]
    ]
    return np.union1d(silent, np.array(named, dtype=np.int64))


def _followed(
    stretches: list[tuple[Floats, Floats]], index: int, glass: Glass, offset: float
) -> Followed:
    times, celsius = stretches[index]
    before = stretches[index - 1][0] if index > 0 else None
    after = stretches[index + 1][0] if index + 1 < len(stretches) else None
    begins_cold = index == 0 and float(celsius[0]) <= LUKEWARM
    flows = celsius >= glass.annealing_point
    if not begins_cold and not flows.any():
        if before is None:
            return _nothing(Unfollowed("begins_hot", float(celsius[0]) - offset))
        return _nothing(Unfollowed("silent", float(before[-1]), float(times[0])))
    unfollowed = None
    if celsius[-1] > settled_below(glass):
        if after is None:
            unfollowed = Unfollowed("ends_hot", float(celsius[-1]) - offset)
        else:
            unfollowed = Unfollowed("silent", float(times[-1]), float(after[0]))
    since = float(times[0]) if begins_cold else float(times[int(np.argmax(flows))])
    return Followed(*_without_noise(times, celsius), since, begins_cold, unfollowed)


def _without_noise(times: Floats, celsius: Floats) -> tuple[Floats, Floats]:
    readings = Readings.of(Recording(times, celsius))
    if readings is None or readings.noise < QUIET:
        return times, celsius
    level, _ = readings.lines(readings.times, max(SMOOTHED, 1.5 * readings.spacing))
    return readings.times, np.where(np.isfinite(level), level, readings.temperatures)
