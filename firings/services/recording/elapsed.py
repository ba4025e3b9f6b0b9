"""Times that are plain numbers or lengths of time: what unit, from when.

Where the name of the column does not say it, the unit is the one in which the recording looks most
like a firing: in its length, in the time from reading to reading, and in how fast it gets hotter.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from firings.services.recording.choices import TimeUnit
from firings.services.recording.series import Floats, RecordingRemark

Name = TypeVar("Name", bound=str)

UNIT_SECONDS: dict[TimeUnit, float] = {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 1e-3}

EARLIEST_EPOCH, LATEST_EPOCH = 0.9e9, 4.2e9
"""s since 1970: from 1998 to 2103."""
LONGEST_EPOCH = 200 * 86_400.0
"""s: longer than any firing, shorter than what a count of milliseconds would give."""
SERIAL_DAYS = (30_000.0, 75_000.0)
"""Days since 1899-12-30, as spreadsheets count: from 1982 to 2105."""
LONGEST_SERIAL = 60.0
SERIAL_START = -25_569.0
"""Days from 1970-01-01 to 1899-12-30."""

TYPICAL_LENGTH, TYPICAL_STEP, TYPICAL_RATE = 43_200.0, 30.0, 400.0
"""s, s, °C/h of a firing and its fastest stretch (common practice, no source)."""
_STRETCHES = 40

_UNIT_WORDS: dict[TimeUnit, set[str]] = {
    "ms": {"ms", "msec", "millis", "millisecond", "milliseconds"},
    "s": {"s", "sec", "secs", "second", "seconds", "sekunden"},
    "min": {"m", "min", "mins", "minute", "minutes", "minuten"},
    "h": {"h", "hr", "hrs", "hour", "hours", "stunden"},
}
_ELAPSED = re.compile(r"elapsed|duration|run.?time|since|relative|laufzeit|t\+", re.IGNORECASE)


@dataclass(frozen=True)
class NumberTimes:
    """Times made of numbers.

    Parameters
    ----------
    seconds : s; since 1970 where `absolute` or `local`, else since any moment
    absolute : whether they count from 1970 in UTC
    local : whether they count from 1970 by the local clock
    remarks : what was guessed
    """

    seconds: Floats
    absolute: bool
    local: bool
    remarks: tuple[RecordingRemark, ...]


def says_elapsed(name: str) -> bool:
    """Whether the name of a column says that it counts from the start.

    Examples
    --------
    >>> says_elapsed("Run time"), says_elapsed("Time")
    (True, False)
    """
    return _ELAPSED.search(name) is not None


def unit_in(name: str) -> TimeUnit | None:
    """The unit of time in the name of a column.

    Examples
    --------
    >>> unit_in("Elapsed time [min]"), unit_in("timeSec"), unit_in("time")
    ('min', 's', None)
    """
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    words = re.split(r"[\W_]+", apart.lower())
    for word in reversed(words):
        for unit, names in _UNIT_WORDS.items():
            if word in names:
                return unit
    return None


def times_of_numbers(
    values: Floats,
    temperatures: Floats,
    *,
    name: str = "",
    choice: TimeUnit | None = None,
    expected: float | None = None,
) -> NumberTimes:
    """What plain numbers mean as times.

    Parameters
    ----------
    values, temperatures : shape (n,), NaN where there is none
    name : of the column
    choice : of a person
    expected : s that the firing was planned to take

    Examples
    --------
    >>> minutes = np.arange(0.0, 600.0)
    >>> seen = times_of_numbers(minutes, 20 + 1.3 * minutes)
    >>> float(seen.seconds[-1]), seen.remarks[0].figures["unit"]
    (35940.0, 'min')
    """
    known = values[np.isfinite(values)]
    if choice is None and known.size:
        absolute = _epoch(known)
        if absolute is not None:
            return NumberTimes(values / absolute, True, False, ())
        if _is_serial(known):
            return NumberTimes((values + SERIAL_START) * 86_400.0, False, True, ())
    unit = choice or unit_in(name)
    if unit is not None:
        return NumberTimes(values * UNIT_SECONDS[unit], False, False, ())
    candidates = {each: values * seconds for each, seconds in UNIT_SECONDS.items()}
    unit = likeliest(candidates, temperatures, expected)
    remark = RecordingRemark("time_unit_guessed", {"unit": unit})
    return NumberTimes(candidates[unit], False, False, (remark,))


def _epoch(known: Floats) -> float | None:
    """Of a Unix epoch: how many of its units a second has."""
    middle = float(np.median(known))
    low, high = np.percentile(known, [2, 98])
    for scale in (1.0, 1e3, 1e6, 1e9):
        if EARLIEST_EPOCH <= middle / scale <= LATEST_EPOCH and high - low < LONGEST_EPOCH * scale:
            return scale
    return None


def _is_serial(known: Floats) -> bool:
    low, high = np.percentile(known, [2, 98])
    inside = SERIAL_DAYS[0] <= low and high <= SERIAL_DAYS[1] and high - low < LONGEST_SERIAL
    return bool(inside and np.any(known % 1.0))


def likeliest(
    candidates: Mapping[Name, Floats], temperatures: Floats, expected: float | None
) -> Name:
    """Of several readings of the same times the one that looks most like a firing.

    Parameters
    ----------
    candidates : at least one, by name: s, shape (n,) each
    temperatures : °C or °F, shape (n,); the difference does not matter here
    expected : s that the firing was planned to take, or None

    Raises
    ------
    ValueError
        Without a candidate.

    Examples
    --------
    >>> minutes, heat = np.arange(0.0, 600.0), 20 + 1.3 * np.arange(0.0, 600.0)
    >>> likeliest({"s": minutes, "min": 60 * minutes, "h": 3600 * minutes}, heat, None)
    'min'
    """
    return min(candidates, key=lambda name: _oddness(candidates[name], temperatures, expected))


def _oddness(seconds: Floats, temperatures: Floats, expected: float | None) -> float:
    both = np.isfinite(seconds) & np.isfinite(temperatures)
    at, hot = seconds[both], temperatures[both]
    if at.size < 2:
        return 0.0
    steps = np.diff(at)
    length, step = float(np.ptp(at)), float(np.median(np.abs(steps)))
    odd = 0.7 * _off(length, expected or TYPICAL_LENGTH) + 0.3 * _off(step, TYPICAL_STEP)
    ends = np.linspace(0, at.size - 1, min(_STRETCHES, at.size)).astype(int)
    spans = np.diff(at[ends])
    rates = np.abs(np.diff(hot[ends]))[spans > 0] / spans[spans > 0] * 3600.0
    return odd + (_off(float(rates.max()), TYPICAL_RATE) if rates.size else 0.0)


def _off(value: float, typical: float) -> float:
    return abs(float(np.log(value / typical))) if value > 0 else 0.0
