"""A file's first rows as they were understood, for a person to agree with or to overrule."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, cast

from firings.services.recording.channels import Channel, Unit
from firings.services.recording.choices import DateOrder, ReadingChoices, TimeForm, TimeUnit
from firings.services.recording.moments import CLOCK
from firings.services.recording.reading import Reading, read_file
from firings.services.recording.series import Recording
from firings.services.recording.source import File

if TYPE_CHECKING:
    from schedules.services.curve import Curve

ROWS = 12
LINES = 200_000
"""Lines that are read: two days at one reading a second."""


@dataclass(frozen=True)
class PreviewRow:
    """A line, and what it was understood to say.

    Parameters
    ----------
    line : its number, from 1
    cells : as they stand there
    seconds : since the first reading; None where the line holds no reading
    moment : by the clock, where the file tells it
    temperature : °C, or None
    """

    line: int
    cells: tuple[str, ...]
    seconds: float | None = None
    moment: datetime | None = None
    temperature: float | None = None


@dataclass(frozen=True)
class RecordingPreview:
    """How a file was understood.

    Parameters
    ----------
    recording : of the lines that were read; its remarks say every guess
    rows : the first of the table
    names : of all columns, as the file has them; empty where it has none
    channels : columns that may be the chamber
    unit : in which the temperatures are written
    choices : what was chosen or guessed, to be shown and sent back with changes
    whole : whether all lines were read
    sheets : names of a workbook's sheets; none for a text
    """

    recording: Recording
    rows: tuple[PreviewRow, ...]
    names: tuple[str, ...]
    channels: tuple[Channel, ...]
    unit: Unit
    choices: ReadingChoices
    whole: bool
    sheets: tuple[str, ...] = ()


def preview_recording(
    file: File,
    unit: Unit | None = None,
    timezone: str | tzinfo | None = None,
    plan: "Curve | None" = None,
    *,
    choices: ReadingChoices | None = None,
    rows: int = ROWS,
    most_lines: int = LINES,
) -> RecordingPreview:
    """Read the beginning of a file, and show how.

    Parameters
    ----------
    file, unit, timezone, plan, choices : as for `read_recording`
    rows : how many of the table to show
    most_lines : how many lines to read; a guess may change with what comes after

    Raises
    ------
    RecordingError
        As `read_recording`.

    Examples
    --------
    >>> from io import BytesIO
    >>> seen = preview_recording(BytesIO(b"min,chamber F\\n0,70\\n1,75\\n2,OPEN\\n3,91\\n"))
    >>> seen.unit, seen.channels[0].name, seen.rows[1].cells
    ('F', 'chamber F', ('1', '75'))
    >>> [row.seconds for row in seen.rows]
    [0.0, 60.0, None, 180.0]
    """
    reading = read_file(file, unit, timezone, plan, choices=choices, most_lines=most_lines)
    given = choices or ReadingChoices()
    layout, sample = reading.layout, reading.sample
    order = _guessed(reading, "date_order_assumed", "order") or _guessed(
        reading, "date_order_from_sequence", "order"
    )
    time_unit = _guessed(reading, "time_unit_guessed", "unit")
    time_form = given.time_form or _guessed(reading, "time_form_guessed", "form")
    return RecordingPreview(
        recording=reading.recording,
        rows=_rows(reading, rows),
        names=layout.names,
        channels=layout.channels,
        unit=reading.unit,
        choices=ReadingChoices(
            sheet=given.sheet or _guessed(reading, "sheet_chosen", "sheet"),
            delimiter=sample.delimiter,
            decimal=layout.decimal,
            time_column=layout.time.time,
            date_column=layout.time.date,
            channel=layout.channel.column,
            date_order=given.date_order or cast("DateOrder | None", order),
            time_unit=given.time_unit or cast("TimeUnit | None", time_unit),
            time_form=cast("TimeForm | None", time_form or _form_of(reading)),
            starts_on=given.starts_on,
        ),
        whole=reading.whole,
        sheets=reading.sheets,
    )


def _form_of(reading: Reading) -> TimeForm | None:
    """What times with colons were taken for, where they have no date."""
    time = reading.layout.time
    if time.kind != CLOCK or time.date is not None:
        return None
    return "h:mm" if reading.base == "start" else "time of day"


def _guessed(reading: Reading, code: str, figure: str) -> str | None:
    """What a remark says was guessed."""
    for remark in reading.recording.remarks:
        if remark.code == code:
            return str(remark.figures[figure])
    return None


def _rows(reading: Reading, most: int) -> tuple[PreviewRow, ...]:
    sample, recording = reading.sample, reading.recording
    place = {line: at for at, line in enumerate(reading.lines.tolist())}
    shown: list[PreviewRow] = []
    for number, cells in zip(sample.numbers, sample.rows, strict=True):
        if number < reading.layout.first_line or len(shown) == most:
            continue
        row = PreviewRow(number, tuple(cells))
        if (at := place.get(number)) is not None:
            seconds = float(recording.times[at])
            started = recording.started_at
            row = PreviewRow(
                number,
                tuple(cells),
                seconds=seconds,
                moment=None if started is None else started + timedelta(seconds=seconds),
                temperature=float(recording.temperatures[at]),
            )
        shown.append(row)
    return tuple(shown)
