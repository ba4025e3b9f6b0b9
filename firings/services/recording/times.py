"""The time of each line, in seconds, from whatever columns hold it."""

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from typing import Literal

import numpy as np

from firings.services.recording.cells import Cells, cells_of
from firings.services.recording.choices import DateOrder, ReadingChoices
from firings.services.recording.clock import ClockKind, day_by_day
from firings.services.recording.dates import DAY, days_of
from firings.services.recording.elapsed import (
    likeliest,
    says_elapsed,
    times_of_numbers,
)
from firings.services.recording.moments import (
    CLOCK,
    DATE,
    MOMENT,
    NOTHING,
    time_cells,
)
from firings.services.recording.series import Floats, RecordingRemark

Base = Literal["utc", "local", "day", "start"]
"""What the seconds count from: 1970 in UTC, 1970 by the local clock, midnight, or the start."""

_KINDS: dict[Base, ClockKind] = {
    "utc": "dated",
    "local": "dated",
    "day": "time of day",
    "start": "elapsed",
}
LONGEST_BY_MINUTES = 150 * 3_600.0
"""s: a time of two numbers that goes further counts minutes and seconds."""

_MINUTES_NAME = re.compile(r"\bmm?:ss", re.IGNORECASE)
_HOURS_NAME = re.compile(r"\bhh?:mm", re.IGNORECASE)
_START_NOTE = re.compile(r"start|begin|began|first|date|datum|record|logged|log\b", re.IGNORECASE)
_OTHER_NOTE = re.compile(r"export|print|download|creat|calibrat|version|serial|end", re.IGNORECASE)
_NOTED_DATE = re.compile(
    r"(?<!\d)\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}(?:[T ,]+\d{1,2}:\d\d(?::\d\d)?(?:\s*[AP]M)?)?(?!\d)",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class LineTimes:
    """The time of each line.

    Parameters
    ----------
    seconds : s, shape (n,), NaN where none is understood
    base : what they count from
    remarks : what was guessed
    starts : s since 1970 by the local clock at which "start" was, where something says it
    """

    seconds: Floats
    base: Base
    remarks: tuple[RecordingRemark, ...] = ()
    starts: float | None = None

    @property
    def kind(self) -> ClockKind:
        """How the clock ran that wrote them, as `pass_through` wants to know it.

        Examples
        --------
        >>> LineTimes(np.array([0.0, 60.0]), "start").kind
        'elapsed'
        """
        return _KINDS[self.base]


def times_of_moments(
    cells: Cells, dates: Cells | None, choices: ReadingChoices, month_first_likely: bool
) -> LineTimes:
    """Times of cells with date and time, or of a column of dates beside one of times.

    Parameters
    ----------
    cells : with date and time, or with the time where `dates` are given, shape (n,)
    dates : the column of dates, shape (n,), or None
    choices : of a person: the order of a date that can be read in several ways
    month_first_likely : whether other things in the file speak for the month first

    Examples
    --------
    >>> days, times = cells_of(["12.03.2026"] * 2), cells_of(["17:40", "17:41"])
    >>> seen = times_of_moments(times, days, ReadingChoices(), False)
    >>> seen.base, np.diff(seen.seconds).tolist()
    ('local', [60.0])
    """
    times = time_cells(cells)
    dated = times if dates is None else time_cells(dates)
    wanted = (dated.kind != NOTHING) & (dated.kind != CLOCK) & (times.kind != NOTHING)
    days, remarks = days_of(dated, choices.date_order, month_first_likely or times.twelve_hours)
    seconds = days * DAY
    seconds += times.seconds
    if not wanted.all():
        seconds[~wanted] = np.nan
    if times.zone is not None:
        zoned = np.isfinite(times.zone) & wanted
        if np.count_nonzero(zoned) * 2 > np.count_nonzero(wanted):
            return LineTimes(seconds - times.zone, "utc", tuple(remarks))
    return LineTimes(seconds, "local", tuple(remarks))


def times_of_clock(
    cells: Cells,
    temperatures: Floats,
    name: str,
    choices: ReadingChoices,
    expected: float | None,
) -> LineTimes:
    """Times written h:mm:ss, of the day or since the start, without any date.

    Parameters
    ----------
    cells : shape (n,)
    temperatures : °C or °F, shape (n,), NaN where there is none
    name : of the column
    choices : of a person: what the times are, or on which day they begin, which says that they are
        of a day
    expected : s that the firing was planned to take, or None

    Examples
    --------
    >>> cells, heat = cells_of(["23:59", "0:00", "0:01"]), np.array([20.0, 21.0, 22.0])
    >>> seen = times_of_clock(cells, heat, "time", ReadingChoices(), None)
    >>> seen.base, seen.seconds.tolist()
    ('day', [86340.0, 0.0, 60.0])
    """
    times = time_cells(cells)
    seconds = np.where(times.kind == CLOCK, times.seconds, np.nan)
    known = seconds[np.isfinite(seconds)]
    if not known.size:
        return LineTimes(seconds, "start")
    if choices.time_form is not None:
        if choices.time_form == "time of day":
            return LineTimes(seconds, "day")
        by_minutes = choices.time_form == "m:ss" and times.two_parts
        return LineTimes(seconds / 60.0 if by_minutes else seconds, "start")
    steps = np.abs(np.diff(known))
    step = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 60.0
    told = says_elapsed(name) or float(known.max()) >= DAY
    from_zero = known[0] <= max(2.0 * step, 60.0) and not times.twelve_hours
    returns = bool(np.any(np.diff(known) < -DAY / 2))
    if not told and (choices.starts_on is not None or returns or not from_zero):
        return LineTimes(seconds, "day")
    remarks = () if told else (RecordingRemark("elapsed_time_assumed"),)
    if not times.two_parts or _HOURS_NAME.search(name):
        return LineTimes(seconds, "start", remarks)
    candidates = {"h:mm": seconds, "m:ss": seconds / 60.0}
    if _MINUTES_NAME.search(name):
        return LineTimes(candidates["m:ss"], "start", remarks)
    form = likeliest(candidates, temperatures, expected)
    remark = RecordingRemark("time_form_guessed", {"form": form})
    return LineTimes(candidates[form], "start", (*remarks, remark))


def times_of_plain_numbers(
    values: Floats,
    temperatures: Floats,
    name: str,
    choices: ReadingChoices,
    expected: float | None,
) -> LineTimes:
    """Times that are numbers: a Unix epoch, a spreadsheet's days, or elapsed time.

    Parameters
    ----------
    values : shape (n,), NaN where there is none
    temperatures : °C or °F, shape (n,), NaN where there is none
    name : of the column
    choices : of a person: the unit of elapsed time
    expected : s that the firing was planned to take, or None

    Examples
    --------
    >>> heat = np.array([20.0, 21.0])
    >>> seen = times_of_plain_numbers(np.array([0.0, 0.5]), heat, "min", ReadingChoices(), None)
    >>> seen.base, seen.seconds.tolist()
    ('start', [0.0, 30.0])
    """
    seen = times_of_numbers(
        values, temperatures, name=name, choice=choices.time_unit, expected=expected
    )
    base: Base = "utc" if seen.absolute else "local" if seen.local else "start"
    return LineTimes(seen.seconds, base, seen.remarks)


def with_the_day(
    times: LineTimes, notes: tuple[str, ...], choices: ReadingChoices, *, month_first_likely: bool
) -> LineTimes:
    """The same times, on the day that a person chose or that stands above the table, if any.

    Parameters
    ----------
    times : of which those of a day, and those since the start, have no date of their own
    notes : the lines above the table
    choices : of a person: the day of the first reading
    month_first_likely : whether other things in the file speak for the month first

    Examples
    --------
    >>> night = LineTimes(np.array([86340.0, 0.0]), "day")
    >>> notes = ("# started 1970-01-03",)
    >>> seen = with_the_day(night, notes, ReadingChoices(), month_first_likely=False)
    >>> seen.base, (seen.seconds / DAY).round(3).tolist()
    ('local', [2.999, 3.0])
    """
    if times.base not in ("day", "start"):
        return times
    remarks = times.remarks
    if choices.starts_on is not None:
        midnight = datetime.combine(choices.starts_on, time(), UTC).timestamp()
        starts = None if times.base == "start" else midnight
        noted = None
    elif (noted := noted_start(notes, choices.date_order, month_first_likely)) is not None:
        starts = noted[0] if noted[1] or times.base == "day" else None
        remarks = (*remarks, RecordingRemark("date_from_notes"), *noted[2])
    else:
        return times
    if starts is None:
        return times
    if times.base == "start":
        return replace(times, starts=starts, remarks=remarks)
    seconds, midnights = day_by_day(times.seconds)
    if midnights:
        remarks = (*remarks, RecordingRemark("midnight_passed", {"count": float(midnights)}))
    return LineTimes(seconds + starts // DAY * DAY, "local", remarks)


def noted_start(
    notes: tuple[str, ...], order: DateOrder | None, month_first_likely: bool
) -> tuple[float, bool, list[RecordingRemark]] | None:
    """A date, or a date and time, at which a recording began by what stands above its table.

    Returns
    -------
    s since 1970 by the local clock; whether a time stands there, or only a date; what was assumed.
    None where there is none, or several that differ.

    Examples
    --------
    >>> noted_start(("# exported 2026-04-01", "# start: 12.03.2026 17:40"), None, False)[:2]
    (1773337200.0, True)
    """
    found = [
        match[0]
        for note in notes
        if _START_NOTE.search(note) and not _OTHER_NOTE.search(note)
        for match in _NOTED_DATE.finditer(note)
    ]
    times = time_cells(cells_of(list(dict.fromkeys(found))))
    rows = np.flatnonzero(np.isin(times.kind, (MOMENT, DATE)))
    if not rows.size:
        return None
    days, remarks = days_of(times, order, month_first_likely or times.twelve_hours)
    timed = times.kind[rows] == MOMENT
    if timed.any():
        rows = rows[timed]
    if np.unique(days[rows]).size != 1 or not np.isfinite(days[rows[0]]):
        return None
    of_day = times.seconds[rows[0]] if timed.any() else 0.0
    return float(days[rows[0]] * DAY + of_day), bool(timed.any()), remarks
