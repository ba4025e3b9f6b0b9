"""Cells that hold a date, a time, or both, taken apart into their numbers.

Nothing is decided here that one cell alone can't decide: 3/4/2026 stays three numbers.
"""

import re
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.cells import Cells, ShapeGroup, shape_groups
from firings.services.recording.series import Floats

Ints = NDArray[np.integer[Any]]

NOTHING, MOMENT, DATE, CLOCK = 0, 1, 2, 3
"""What a cell holds: neither, date and time, a date, or a time (of day, or since the start)."""

YEAR_FIRST, SHORT_YEAR, UNDECIDED = 0, 1, 2
"""How its date is written: known; three numbers of two digits; two of two and a year of four."""

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = rf"(?P<name>{'|'.join(_MONTHS)})[a-z]*"
_DATES = (
    r"(?P<year>0000)[-/. ](?P<month>00?)[-/. ](?P<day>00?)\.?",
    r"(?P<first>00?)(?P<mark>[-/. ])(?P<second>00?)(?P=mark)(?P<third>0000|00)\.?",
    rf"(?P<day>00?)(?:st|nd|rd|th|\.)?[-/. ]*{_MONTH}\.?[-/., ]+(?P<year>0000|00)",
    rf"{_MONTH}\.?[-/. ]+(?P<day>00?)(?:st|nd|rd|th)?,?[-/ ]+(?P<year>0000)",
    rf"(?P<year>0000)[-/. ]{_MONTH}\.?[-/. ](?P<day>00?)",
)
_SHORT_DATE = r"(?P<year>0000)(?P<month>00)(?P<day>00)"
_HALF = r"(?:\s*(?P<half>[AP])\.?\s?M\.?)?"
_TIME = rf"(?P<hour>00?)[:.h](?P<minute>00)(?:[:.m](?P<s>00)(?:[.,:](?P<fraction>0+))?s?)?{_HALF}"
_SHORT_TIME = r"(?P<hour>00)(?P<minute>00)(?P<s>00)(?:[.,](?P<fraction>0+))?"
_ZONE = r"(?:\s*(?:(?P<utc>Z|UTC|GMT)|(?P<zone>[+-])(?P<zone_h>00)(?::?(?P<zone_m>00))?))?"
_DAY = r"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+)?"
_OPEN, _SHUT = r"[\s\"'\[(]*", r"[\s\"'\])]*"

_MOMENTS = [
    re.compile(f"{_OPEN}{pattern}{_ZONE}{_SHUT}", re.IGNORECASE)
    for pattern in [
        *(
            rf"{_DAY}{date}(?:T|[\s,;_]+|\s+-\s+|[-:]){time}"
            for date, time in product(_DATES, [_TIME])
        ),
        rf"{_SHORT_DATE}[T\s_-]?{_SHORT_TIME}",
        rf"{_SHORT_DATE}[T\s_-]{_TIME}",
        *(rf"{_TIME}[\s,;_]+{_DAY}{date}" for date in _DATES),
    ]
]
_ONLY_DATES = [
    re.compile(f"{_OPEN}{_DAY}{date}{_SHUT}", re.IGNORECASE) for date in [*_DATES, _SHORT_DATE]
]
_CLOCKS = [
    re.compile(f"{_OPEN}{pattern}{_SHUT}", re.IGNORECASE)
    for pattern in (
        r"(?P<minute>0{1,5}):(?P<s>00)[.,](?P<fraction>0+)",
        r"(?:(?P<days>0{1,3})(?:\s*d(?:ays?)?,?\s*|[. ]))?"
        rf"(?P<hour>0{{1,5}}):(?P<minute>00)(?::(?P<s>00)(?:[.,](?P<fraction>0+))?)?{_HALF}",
    )
]


@dataclass(frozen=True)
class TimeCells:
    """A column of dates or times.

    Parameters
    ----------
    kind : `NOTHING`, `MOMENT`, `DATE` or `CLOCK`, shape (n,)
    dates : the three numbers of a date, in order of year, month and day where `order` is
        `YEAR_FIRST`, else as written; shape (3, n)
    order : of the numbers of `dates`, shape (n,)
    seconds : s since midnight, or the whole of a length of time, shape (n,)
    zone : s east of UTC, NaN where none is named, shape (n,); None where nowhere is
    two_parts : whether every time is written as two numbers
    twelve_hours : whether any is marked as before or after noon
    dotted : whether dates are written with dots
    """

    kind: NDArray[np.int8]
    dates: Ints
    order: NDArray[np.int8]
    seconds: Floats
    zone: Floats | None
    two_parts: bool
    twelve_hours: bool
    dotted: bool

    def share(self, kind: int) -> float:
        """The share of cells that hold a kind, 0 to 1; 0 where there are no cells.

        Parameters
        ----------
        kind : `NOTHING`, `MOMENT`, `DATE` or `CLOCK`

        Examples
        --------
        >>> from firings.services.recording.cells import cells_of
        >>> time_cells(cells_of(["17:40", "noon"])).share(CLOCK)
        0.5
        """
        return float(np.mean(self.kind == kind)) if self.kind.size else 0.0


def time_cells(cells: Cells) -> TimeCells:
    """The dates and times of a column.

    Parameters
    ----------
    cells : shape (n,)

    Examples
    --------
    >>> from firings.services.recording.cells import cells_of
    >>> seen = time_cells(cells_of(["12.03.2026 17:40:05", "5:40 pm", "noon"]))
    >>> seen.kind.tolist(), seen.dates[:, 0].tolist(), seen.seconds.tolist()
    ([1, 3, 0], [12, 3, 2026], [63605.0, 63600.0, nan])
    """
    count = cells.size
    taken = _Taken(count)
    for group in shape_groups(cells):
        for kind, patterns in ((MOMENT, _MOMENTS), (DATE, _ONLY_DATES), (CLOCK, _CLOCKS)):
            found = next((m for p in patterns if (m := p.fullmatch(group.shape))), None)
            if found is not None:
                taken.take(group, found, kind)
                break
    return taken.result()


class _Taken:
    """What has been taken of a column's cells so far."""

    def __init__(self, count: int) -> None:
        self.kind = np.zeros(count, dtype=np.int8)
        self.dates = np.zeros((3, count), dtype=np.int32)
        self.order = np.zeros(count, dtype=np.int8)
        self.seconds = np.full(count, np.nan)
        self.zone: Floats | None = None
        self.parts: set[int] = set()
        self.twelve_hours = False
        self.dotted = False

    def take(self, group: ShapeGroup, found: re.Match[str], kind: int) -> None:
        rows = group.rows
        sound = np.ones(group.count, dtype=bool)
        if kind != CLOCK:
            self._date(group, found)
        if kind != DATE:
            seconds, sound = _seconds(group, found, of_day=kind == MOMENT)
            self.seconds[rows] = seconds if sound.all() else np.where(sound, seconds, np.nan)
            self.parts.add(2 if not found["s"] else 3)
            self.twelve_hours |= bool(found["half"]) if "half" in found.re.groupindex else False
        if kind == MOMENT and (found["utc"] or found["zone"]):
            if self.zone is None:
                self.zone = np.full(self.kind.size, np.nan)
            self.zone[rows] = _zone(group, found)
        self.kind[rows] = np.where(sound, kind, NOTHING)

    def _date(self, group: ShapeGroup, found: re.Match[str]) -> None:
        names = found.re.groupindex
        if "first" in names:
            columns = [_number(group, found, name) for name in ("first", "second", "third")]
            self.order[group.rows] = UNDECIDED if len(found["third"]) == 4 else SHORT_YEAR
            self.dotted |= found["mark"] == "."
        else:
            year, day = _number(group, found, "year"), _number(group, found, "day")
            if len(found["year"]) == 2:
                year = full_year(year)
            if "name" in names:
                month = np.full(group.count, _MONTHS.index(found["name"].lower()) + 1)
            else:
                month = _number(group, found, "month")
            columns = [year, month, day]
            self.order[group.rows] = YEAR_FIRST
        for place, column in enumerate(columns):
            self.dates[place, group.rows] = column

    def result(self) -> TimeCells:
        return TimeCells(
            self.kind,
            self.dates,
            self.order,
            self.seconds,
            self.zone,
            self.parts == {2},
            self.twelve_hours,
            self.dotted,
        )


def full_year(year: Ints) -> Ints:
    """A year of two digits in full, between 1970 and 2069; any other as it is, shape (n,).

    Examples
    --------
    >>> full_year(np.array([26, 85, 2026])).tolist()
    [2026, 1985, 2026]
    """
    return np.where(year < 70, 2000 + year, np.where(year < 100, 1900 + year, year))


def _number(group: ShapeGroup, found: re.Match[str], name: str) -> Ints:
    return group.number(range(*found.span(name)))


def _seconds(
    group: ShapeGroup, found: re.Match[str], *, of_day: bool
) -> tuple[Floats, NDArray[np.bool_]]:
    names = found.re.groupindex
    minute = _number(group, found, "minute")
    whole = 60 * minute
    sound: NDArray[np.bool_] = np.ones(group.count, dtype=bool)
    if "hour" in names:
        hour = _number(group, found, "hour")
        half = found["half"] if "half" in names else None
        sound &= (minute < 60) & ((hour <= 24) | (not of_day and half is None))
        if half:
            hour = np.where(hour > 12, hour, hour % 12 + (12 if half in "pP" else 0))
        whole = whole + 3600 * hour
    if found["s"]:
        second = _number(group, found, "s")
        sound &= second < 61  # a leap second is one
        whole = whole + second
    if "days" in names and found["days"]:
        whole = whole + 86_400 * _number(group, found, "days")
    seconds = whole.astype(np.float64)
    if found["fraction"]:
        start, end = found.span("fraction")
        digits = min(end - start, 9)
        seconds += group.number(range(start, start + digits)) / 10.0**digits
    return seconds, sound


def _zone(group: ShapeGroup, found: re.Match[str]) -> Floats:
    if found["utc"]:
        return np.zeros(group.count)
    minutes = np.asarray(60.0 * _number(group, found, "zone_h"), dtype=np.float64)
    if found["zone_m"]:
        minutes += _number(group, found, "zone_m")
    return minutes * (60.0 if found["zone"] == "+" else -60.0)
