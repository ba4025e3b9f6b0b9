"""Files of data loggers read as recordings: the front door."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.channels import Unit
from firings.services.recording.choices import ReadingChoices
from firings.services.recording.clock import newest_first, pass_through
from firings.services.recording.dates import DAY, utc_seconds
from firings.services.recording.gaps import gaps_of
from firings.services.recording.layout import MOST_COLUMNS, Layout, lay_out
from firings.services.recording.line_values import LineValues, line_values
from firings.services.recording.series import Floats, Recording, RecordingError, RecordingRemark
from firings.services.recording.source import File, Lines, lines_of, raw_bytes
from firings.services.recording.table import Sample, Table, samples_of
from firings.services.recording.temperatures import temperatures_of
from firings.services.recording.times import Base, LineTimes, with_the_day
from firings.services.recording.workbook import DELIMITER, sheet_names, workbook_text
from studio.services.workbook import is_workbook

if TYPE_CHECKING:
    from schedules.services.curve import Curve

MOST_UNREADABLE = 0.25
"""Share of lines that may be dropped; beyond, the file is not what it was taken for."""


@dataclass(frozen=True)
class Reading:
    """A recording, and how its file was understood.

    Parameters
    ----------
    recording : what was read
    lines : the line of each reading, from 1, shape (n,)
    sample : of the file's lines
    layout : what stands where
    unit : in which the temperatures are written
    base : what the times count from
    whole : whether all lines were read
    sheets : names of a workbook's sheets; none for a text
    """

    recording: Recording
    lines: NDArray[np.intp]
    sample: Sample
    layout: Layout
    unit: Unit
    base: Base
    whole: bool
    sheets: tuple[str, ...] = ()


def read_recording(
    file: File,
    unit: Unit | None = None,
    timezone: str | tzinfo | None = None,
    plan: "Curve | None" = None,
    *,
    choices: ReadingChoices | None = None,
) -> Recording:
    """Read what a data logger wrote.

    Takes tables of text (cells parted by commas, semicolons, tabs, bars or white space; UTF-8,
    UTF-16, UTF-32 or one byte a character; any line ends) and workbooks (XLSX), with or without
    names of columns and lines above them. Whatever the file leaves open is told from the readings
    and said in the recording's remarks.

    Parameters
    ----------
    file : path, or binary file, which is read from its beginning
    unit : "C" or "F"; by default as the file names it, else told from the readings and the plan
    timezone : in which the logger's clock runs, a name or a `tzinfo`; times that name their own
        zone, and Unix epochs, do not need it
    plan : the curve that was to be fired; helps to tell the unit, the channel and the unit of time
    choices : what a person said about the file, which wins over every guess

    Returns
    -------
    Recording, with at least two readings. Times rise strictly and begin at 0; temperatures are
    finite. Broken readings are left out, and where nothing is known for long there is a gap.
    `started_at` is in UTC; it has no zone where the file and `timezone` name none, and is None
    where the file names no day.

    Raises
    ------
    RecordingError
        For what can't be read, with the line.
    ValueError
        For another unit.
    KeyError
        For the name of a zone that does not exist.

    Examples
    --------
    >>> from io import BytesIO
    >>> file = BytesIO("Datum;Ofen °C\\n12.03.2026 17:40;20,5\\n12.03.2026 17:41;23,0\\n".encode())
    >>> seen = read_recording(file, timezone="Europe/Berlin")
    >>> seen.times.tolist(), seen.temperatures.tolist(), seen.started_at.isoformat()
    ([0.0, 60.0], [20.5, 23.0], '2026-03-12T16:40:00+00:00')
    >>> [remark.code for remark in seen.remarks]
    ['date_order_assumed']
    """
    return read_file(file, unit, timezone, plan, choices=choices).recording


def read_file(
    file: File,
    unit: Unit | None = None,
    timezone: str | tzinfo | None = None,
    plan: "Curve | None" = None,
    *,
    choices: ReadingChoices | None = None,
    most_lines: int | None = None,
) -> Reading:
    """As `read_recording`, with how the file was understood.

    Parameters
    ----------
    file, unit, timezone, plan, choices : as for `read_recording`
    most_lines : stop after so many lines; None reads all

    Raises
    ------
    RecordingError, ValueError, KeyError
        As `read_recording`.

    Examples
    --------
    >>> from io import BytesIO
    >>> seen = read_file(BytesIO(b"min;chamber F\\n0;70\\n1;75\\n2;80\\n"), most_lines=3)
    >>> seen.unit, seen.base, seen.lines.tolist(), seen.whole
    ('F', 'start', [2, 3], False)
    """
    if unit not in (None, "C", "F"):
        raise ValueError(f"a unit is C or F, not {unit!r}")
    zone = ZoneInfo(timezone) if isinstance(timezone, str) else timezone
    choices = choices or ReadingChoices()
    peak = None if plan is None else plan.peak
    opened = _opened(file, choices, most_lines)
    lines, remarks = opened.lines, list(opened.remarks)
    sample, layout = _understood(opened, choices, peak)
    table = Table(lines, sample, layout.first_line)
    values = line_values(table, layout)
    times = values.times(layout, choices, None if plan is None else plan.duration)
    times = with_the_day(times, layout.notes, choices, month_first_likely=layout.is_fahrenheit)
    hot = temperatures_of(values.temperatures, values.units, layout, unit, peak)
    remarks += [*layout.remarks, *times.remarks, *hot.remarks]
    remarks += _unreadable(values, times, table)
    rows = np.flatnonzero(np.isfinite(times.seconds))
    readings = _in_time(rows, times, hot.celsius, zone)
    remarks += readings.remarks
    breaks = _breaks(values, hot.celsius, readings.rows, table)
    remarks += breaks
    recording, kept = _recording(readings, hot.celsius, times, zone, remarks)
    whole = most_lines is None or lines.count < most_lines
    return Reading(
        recording=recording,
        lines=kept + layout.first_line,
        sample=sample,
        layout=layout,
        unit=hot.unit,
        base=times.base,
        whole=whole,
        sheets=opened.sheets,
    )


def sheets_of(file: File) -> tuple[str, ...]:
    """The names of the sheets of a workbook, in their order; none for any other file.

    Parameters
    ----------
    file : as for `read_recording`; one that can't be read has none

    Examples
    --------
    >>> from io import BytesIO
    >>> sheets_of(BytesIO(b"min;chamber C"))
    ()
    """
    try:
        return sheet_names(raw_bytes(file))
    except RecordingError:
        return ()


@dataclass(frozen=True)
class _Opened:
    """A file as lines; of a workbook with its sheets, and what parts its cells."""

    lines: Lines
    delimiter: str | None
    sheets: tuple[str, ...] = ()
    remarks: tuple[RecordingRemark, ...] = ()


def _opened(file: File, choices: ReadingChoices, most_lines: int | None) -> _Opened:
    raw = raw_bytes(file)
    if not is_workbook(raw):
        return _Opened(lines_of(raw, most_lines), choices.delimiter)
    book = workbook_text(raw, choices.sheet, most_lines)
    return _Opened(lines_of(book.text, most_lines), DELIMITER, book.sheets, book.remarks)


def _understood(
    opened: _Opened, choices: ReadingChoices, peak: float | None
) -> tuple[Sample, Layout]:
    """The first way of parting the lines that makes sense, or what is wrong with the likeliest."""
    wrong: RecordingError | None = None
    for sample in samples_of(opened.lines, opened.delimiter, MOST_COLUMNS):
        try:
            return sample, lay_out(sample, choices, peak)
        except RecordingError as error:
            wrong = wrong or error
    raise wrong or RecordingError("columns_not_found")


def _unreadable(values: LineValues, times: LineTimes, table: Table) -> list[RecordingRemark]:
    """What is said of lines that hold something else; an error if they are many."""
    timeless = ~np.isfinite(times.seconds) & ~values.blank
    bad = timeless | (~values.understood & ~values.blank)
    count = int(np.count_nonzero(bad))
    if not count:
        return []
    first = int(np.flatnonzero(bad)[0])
    line = table.first_line + first
    text = table.lines.text(line).strip()
    if count > MOST_UNREADABLE * np.count_nonzero(~values.blank):
        what = "time" if timeless[first] else "temperature"
        raise RecordingError(f"{what}_not_understood", line=line, text=text)
    figures: dict[str, float | str] = {"count": float(count), "line": float(line), "text": text}
    return [RecordingRemark("lines_dropped", figures)]


@dataclass(frozen=True)
class _Readings:
    """Readings as they passed: lines from the table's first, and their times."""

    rows: NDArray[np.intp]
    seconds: Floats
    breaks: tuple[int, ...]
    remarks: tuple[RecordingRemark, ...]


def _in_time(
    rows: NDArray[np.intp], times: LineTimes, celsius: Floats, zone: tzinfo | None
) -> _Readings:
    seconds = times.seconds if rows.size == times.seconds.size else times.seconds[rows]
    remarks: list[RecordingRemark] = []
    if newest_first(seconds):
        rows, seconds = rows[::-1], seconds[::-1]
        remarks.append(RecordingRemark("newest_first"))
    if times.base == "local" and zone is not None:
        seconds, changes = utc_seconds(seconds, zone)
        remarks += changes
    passing = pass_through(seconds, celsius[rows], times.kind)
    return _Readings(
        rows[passing.order], passing.seconds, passing.breaks, (*remarks, *passing.remarks)
    )


def _breaks(
    values: LineValues, celsius: Floats, rows: NDArray[np.intp], table: Table
) -> list[RecordingRemark]:
    broken = rows[~np.isfinite(celsius[rows]) & values.understood[rows]]
    if not broken.size:
        return []
    line = float(broken.min() + table.first_line)
    return [RecordingRemark("thermocouple_breaks", {"count": float(broken.size), "line": line})]


def _recording(
    readings: _Readings,
    celsius: Floats,
    times: LineTimes,
    zone: tzinfo | None,
    remarks: list[RecordingRemark],
) -> tuple[Recording, NDArray[np.intp]]:
    shown = celsius[readings.rows]
    good = np.isfinite(shown)
    rows, seconds, breaks = readings.rows, readings.seconds, list(readings.breaks)
    after_break = np.zeros(max(rows.size - 1, 0), dtype=bool)
    after_break[[at - 1 for at in breaks if at > 0]] = True
    if not good.all():
        passed = np.concatenate(([0], np.cumsum(after_break)))[good]
        rows, seconds, shown = rows[good], seconds[good], shown[good]
        after_break = np.diff(passed) > 0
    if rows.size < 2:
        raise RecordingError("too_few_readings", figures={"readings": float(rows.size)})
    started_at, more = _start(float(seconds[0]), times, zone)
    recording = Recording(
        seconds - seconds[0],
        shown,
        started_at,
        gaps=gaps_of(seconds - seconds[0], after_break),
        remarks=(*remarks, *more),
    )
    return recording, rows


def _start(
    first: float, times: LineTimes, zone: tzinfo | None
) -> tuple[datetime | None, list[RecordingRemark]]:
    """The moment of the first reading, and what was assumed of it."""
    if times.base == "utc":
        return _moment(first, UTC), []
    if times.base == "local":
        if zone is None:
            return _moment(first, None), [RecordingRemark("no_zone")]
        return _moment(first, UTC), []
    if times.starts is not None:
        if zone is None:
            return _moment(times.starts, None), [RecordingRemark("no_zone")]
        seconds, remarks = utc_seconds(np.array([times.starts]), zone)
        return _moment(float(seconds[0]), UTC), remarks
    figures: dict[str, float | str] = {"seconds": first % DAY} if times.base == "day" else {}
    return None, [RecordingRemark("no_date", figures)]


def _moment(seconds: float, zone: tzinfo | None) -> datetime:
    moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=round(seconds, 3))
    return moment.replace(tzinfo=zone)
