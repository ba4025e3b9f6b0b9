"""Which columns of a file hold the time."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firings.services.recording.channels import named_unit
from firings.services.recording.choices import ReadingChoices
from firings.services.recording.moments import CLOCK, DATE, MOMENT, NOTHING, TimeCells
from firings.services.recording.numbers import NumberCells

NUMBER = 4
"""A time column of plain numbers, beside `MOMENT` and `CLOCK`."""
ENOUGH = 0.5
"""Share of cells that must be of a kind for the column to be."""
RISING, FALLING = 0.75, 0.95
"""Share of steps forward in a column that counts the time; of steps back, newest first."""

_TIME_NAME = re.compile(
    r"time|elapsed|zeit|heure|hora|stamp|epoch|unix|\bt\b|sec|min|hour|hrs?\b|\bms\b|date|datum",
    re.IGNORECASE,
)
_INDEX = re.compile(
    r"^\W*(?:no|nr|n|index|id|sample|record|reading|row|line|count)\W*$", re.IGNORECASE
)


@dataclass(frozen=True)
class TimeColumns:
    """Where the time stands.

    Parameters
    ----------
    time : the column, from 0
    date : the column of the date where it has one of its own, or None
    kind : what the time column holds, `MOMENT`, `CLOCK` or `NUMBER`
    others : columns that might be the time as well
    """

    time: int
    date: int | None
    kind: int
    others: tuple[int, ...] = ()


def is_timely(times: TimeCells) -> bool:
    """Whether a column holds dates or times, so that it can't hold temperatures.

    Parameters
    ----------
    times : the column, read as dates and times, of at least one cell

    Examples
    --------
    >>> from firings.services.recording.cells import cells_of
    >>> from firings.services.recording.moments import time_cells
    >>> is_timely(time_cells(cells_of(["17:40", "17:41", ""])))
    True
    """
    return float(np.mean(times.kind != NOTHING)) >= ENOUGH


def find_time_columns(
    times: Sequence[TimeCells],
    numbers: Sequence[NumberCells],
    names: Sequence[str],
    choices: ReadingChoices,
) -> TimeColumns | None:
    """The columns of the time: date and time, a time with or without a date, or plain numbers.

    Parameters
    ----------
    times, numbers : each column read as times and as numbers
    names : of the columns, as far as known
    choices : of a person

    Returns
    -------
    None where no column will do.

    Raises
    ------
    IndexError
        For a chosen column that there is not.

    Examples
    --------
    >>> from firings.services.recording.cells import cells_of
    >>> from firings.services.recording.moments import time_cells
    >>> from firings.services.recording.numbers import number_cells
    >>> texts = ["12.3.2026"] * 3, ["7:00", "7:01", "7:02"], ["20"] * 3
    >>> columns = [cells_of(each) for each in texts]
    >>> times = [time_cells(each) for each in columns]
    >>> numbers = [number_cells(each, ".") for each in columns]
    >>> seen = find_time_columns(times, numbers, ["day", "time", "C"], ReadingChoices())
    >>> seen.time, seen.date, seen.kind == CLOCK
    (1, 0, True)
    """
    chosen = choices.time_column
    if chosen is not None:
        kind = _kind(times[chosen], numbers[chosen])
        return None if kind is None else TimeColumns(chosen, _date_for(times, kind, choices), kind)
    dated = choices.date_column
    for kind in (MOMENT, CLOCK) if dated is None else (CLOCK, MOMENT):
        found = [at for at, each in enumerate(times) if each.share(kind) >= ENOUGH and at != dated]
        if kind == MOMENT and any(each.share(CLOCK) >= ENOUGH for each in times):
            found = [at for at in found if not _is_of_days(times[at])]
        if found:
            best = max(found, key=lambda at: times[at].share(kind))
            others = tuple(at for at in found if at != best)
            return TimeColumns(best, _date_for(times, kind, choices), kind, others)
    return _counting(numbers, names)


def _kind(times: TimeCells, numbers: NumberCells) -> int | None:
    for kind in (MOMENT, CLOCK):
        if times.share(kind) >= ENOUGH:
            return kind
    return NUMBER if np.mean(np.isfinite(numbers.values)) >= ENOUGH else None


def _date_for(times: Sequence[TimeCells], kind: int, choices: ReadingChoices) -> int | None:
    if kind != CLOCK:
        return None
    if choices.date_column is not None:
        return choices.date_column
    dated = [
        place for place, each in enumerate(times) if each.share(DATE) >= ENOUGH or _is_of_days(each)
    ]
    return dated[0] if dated else None


def _is_of_days(times: TimeCells) -> bool:
    """Whether a column holds days, each written as its midnight, as workbooks do."""
    moments = times.kind == MOMENT
    return bool(times.share(MOMENT) >= ENOUGH and np.all(times.seconds[moments] == 0.0))


def _counting(numbers: Sequence[NumberCells], names: Sequence[str]) -> TimeColumns | None:
    """The column of numbers that look like times: named so, or at least hardly ever falling."""
    scores: dict[int, float] = {}
    for place, each in enumerate(numbers):
        known = each.values[np.isfinite(each.values)]
        if known.size < 2 or known.size < ENOUGH * each.values.size:
            continue
        steps = np.diff(known)
        rising = float(np.mean(steps > 0)) + 0.5 * float(np.mean(steps == 0))
        if rising < RISING and np.mean(steps < 0) < FALLING:
            continue
        name = names[place]
        named = 1.0 * bool(_TIME_NAME.search(name)) - 0.4 * bool(_INDEX.search(name))
        scores[place] = named + rising - 1.0 * (named_unit(name, names) is not None) - 1e-3 * place
    if not scores:
        return None
    best = max(scores, key=lambda place: scores[place])
    others = tuple(at for at in scores if at != best and _says_time(names[at], names))
    return TimeColumns(best, None, NUMBER, others)


def _says_time(name: str, names: Sequence[str]) -> bool:
    named = _TIME_NAME.search(name) and not _INDEX.search(name)
    return bool(named) and named_unit(name, names) is None
