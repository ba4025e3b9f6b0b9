"""What stands where in a file: where its readings begin, and which column is which.

Decided on a sample: the first lines, and lines from all over the file.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firings.services.recording.cells import Cells
from firings.services.recording.channels import (
    Channel,
    chosen_channel,
    coded_unit,
    likeness,
    named_unit,
)
from firings.services.recording.choices import ReadingChoices
from firings.services.recording.moments import TimeCells, time_cells
from firings.services.recording.numbers import NumberCells, decimal_sign, number_cells
from firings.services.recording.series import RecordingError, RecordingRemark
from firings.services.recording.table import Sample
from firings.services.recording.time_columns import (
    ENOUGH,
    NUMBER,
    TimeColumns,
    find_time_columns,
    is_timely,
)

MOST_COLUMNS = 256

_MARKS = re.compile(r"^[\s#%/*'!\"]+|[\s\"]+$")
_UNIT_ROW = re.compile(
    r"\W*(?:\w{0,3}|deg\w*\W*\w?|celsius|fahrenheit|[dhmsy]+(?:\W+[dhmsy]+)*)\W*", re.IGNORECASE
)
_LETTER = re.compile(r"[CF]", re.IGNORECASE)
_UNIT_CELL = re.compile(r"\W*(?:deg\w*\W*)?[CF]\W*|celsius|fahrenheit", re.IGNORECASE)


@dataclass(frozen=True)
class Layout:
    """What stands where.

    Parameters
    ----------
    decimal : "." or ","
    first_line : where the readings begin, from 1
    names : of the columns; empty where there are none
    notes : what stands above the table
    time : the columns of the time
    channel : the column of temperatures
    channels : all that may be one, the chosen among them
    unit_column : where °C or °F stands beside the temperatures, or None
    remarks : what was guessed
    """

    decimal: str
    first_line: int
    names: tuple[str, ...]
    notes: tuple[str, ...]
    time: TimeColumns
    channel: Channel
    channels: tuple[Channel, ...]
    unit_column: int | None
    remarks: tuple[RecordingRemark, ...]

    @property
    def is_fahrenheit(self) -> bool:
        """Whether °F is named beside the chosen channel, which speaks for US dates.

        Examples
        --------
        >>> from firings.services.recording.source import lines_of
        >>> from firings.services.recording.table import samples_of
        >>> sample = next(samples_of(lines_of(b"s;chamber F\\n0;70\\n1;71\\n"), None, 8))
        >>> lay_out(sample, ReadingChoices()).is_fahrenheit
        True
        """
        return self.channel.unit == "F"

    @property
    def time_name(self) -> str:
        """The name of the time column, as the file has it; empty where it has none.

        Examples
        --------
        >>> from firings.services.recording.source import lines_of
        >>> from firings.services.recording.table import samples_of
        >>> sample = next(samples_of(lines_of(b"min;chamber F\\n0;70\\n1;71\\n"), None, 8))
        >>> lay_out(sample, ReadingChoices()).time_name
        'min'
        """
        return self.names[self.time.time]


def lay_out(sample: Sample, choices: ReadingChoices, peak: float | None = None) -> Layout:
    """Find out what stands where.

    Parameters
    ----------
    sample : of the file's lines
    choices : of a person, which win over everything
    peak : °C that was planned, or None

    Raises
    ------
    RecordingError
        "columns_not_found", "column_missing", "time_not_found", "more_cells_than_names" or
        "temperature_not_found".

    Examples
    --------
    >>> from firings.services.recording.source import lines_of
    >>> from firings.services.recording.table import samples_of
    >>> lines = lines_of(b"# logger 2\\ns;room;chamber F\\n0;70;70\\n60;70;95\\n120;71;130\\n")
    >>> seen = lay_out(next(samples_of(lines, None, 8)), ReadingChoices())
    >>> seen.first_line, seen.time.time, seen.channel.name, seen.notes[0]
    (3, 0, 'chamber F', '# logger 2')
    """
    width, body = _body(sample)
    for place in (choices.time_column, choices.date_column, choices.channel):
        if place is not None and place >= width:
            figures = {"column": float(place), "columns": float(width)}
            raise RecordingError("column_missing", figures=figures)
    raw = [sample.column(place, body) for place in range(width)]
    times = [time_cells(cells) for cells in raw]
    timely = {place for place in range(width) if is_timely(times[place])}
    decimal, remarks = _decimal(
        [cells for place, cells in enumerate(raw) if place not in timely], sample, choices
    )
    numbers = [number_cells(cells, decimal) for cells in raw]
    unnamed = find_time_columns(times, numbers, [""] * width, choices)
    first = None if unnamed is None else _first_row(times, numbers, unnamed)
    if unnamed is None or first is None:
        raise _error("time_not_found", sample, body[-1])
    names, notes = _names(sample, body[first:], width)
    time = find_time_columns(times, numbers, names, choices) or unnamed
    started = list(range(first, len(body)))
    taken = {time.time, time.date, *timely}
    channels = _channels(numbers, names, taken, started, choices.channel, peak)
    # What is named as a time is no temperature, if anything else may be one.
    channels = [
        each
        for each in channels
        if each.column not in time.others or each.column == choices.channel
    ] or channels
    channel = _chosen(channels, choices.channel)
    if channel is None:
        raise _error("temperature_not_found", sample, body[first])
    if time.others:
        remarks.append(
            _chosen_remark("time_column_chosen", "columns", time.time, time.others, names)
        )
    if len(channels) > 1 and choices.channel is None:
        others = [each.column for each in channels if each is not channel]
        remarks.append(_chosen_remark("channel_chosen", "channels", channel.column, others, names))
    return Layout(
        decimal=decimal,
        first_line=sample.numbers[body[first]],
        names=names,
        notes=notes,
        time=time,
        channel=channel,
        channels=tuple(channels),
        unit_column=_unit_column(raw, started),
        remarks=tuple(remarks),
    )


def _error(code: str, sample: Sample, row: int) -> RecordingError:
    return RecordingError(code, line=sample.numbers[row], text=sample.text(row))


def _body(sample: Sample) -> tuple[int, list[int]]:
    """How many columns there are, and which rows of the sample may belong to the table."""
    counts = Counter(len(row) for row in sample.rows if len(row) > 1)
    if not counts:
        raise _error("columns_not_found", sample, 0)
    width = counts.most_common(1)[0][0]
    return width, [at for at, row in enumerate(sample.rows) if len(row) > 1]


def _decimal(
    columns: list[Cells], sample: Sample, choices: ReadingChoices
) -> tuple[str, list[RecordingRemark]]:
    if choices.decimal is not None:
        return choices.decimal, []
    sign, told = decimal_sign(columns, sample.delimiter)
    return sign, [] if told else [RecordingRemark("decimal_sign_assumed", {"sign": sign})]


def _first_row(
    times: list[TimeCells], numbers: list[NumberCells], columns: TimeColumns
) -> int | None:
    """The first row of the body that holds a time, as does one of the next two."""
    if columns.kind == NUMBER:
        holds = np.isfinite(numbers[columns.time].values)
    else:
        holds = times[columns.time].kind == columns.kind
    for at in np.flatnonzero(holds).tolist():
        if at + 1 == holds.size or holds[at + 1 : at + 3].any():
            return int(at)
    return None


def _names(sample: Sample, body: list[int], width: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the columns, from the last line above the table or two, and all lines above it."""
    above = [at for at in range(body[0]) if any(cell.strip() for cell in sample.rows[at])]
    notes = tuple(sample.text(at) for at in above)
    if not above or len(sample.rows[above[-1]]) < 2:
        return ("",) * width, notes
    rows = above[-1:]
    units = all(_UNIT_ROW.fullmatch(cell) for cell in sample.rows[above[-1]])
    if units and len(above) > 1 and len(sample.rows[above[-2]]) > 1:
        rows = above[-2:]
    _check_names(sample, rows, body, width)
    cells = [[_MARKS.sub("", sample.cell(row, place)) for place in range(width)] for row in rows]
    if units and len(rows) > 1:  # a C below a name is no longer alone
        written = cells[-1]
        cells[-1] = [
            f"°{cell}" if _LETTER.fullmatch(cell) and named_unit(cell, written) else cell
            for cell in written
        ]
    names = [" ".join(filter(None, column)) for column in zip(*cells, strict=True)]
    return tuple(names), notes


def _check_names(sample: Sample, rows: list[int], body: list[int], width: int) -> None:
    """Cells beyond the last name are decimals that a comma parted from their number."""
    named = max(sum(bool(cell.strip()) for cell in sample.rows[row]) for row in rows)
    if sample.delimiter != "," or not 2 <= named < width:
        return
    beyond = [all(sample.cell(row, at).isdigit() for at in range(named, width)) for row in body]
    if np.mean(beyond) > ENOUGH:
        raise _error("more_cells_than_names", sample, body[beyond.index(True)])


def _unit_column(raw: list[Cells], started: list[int]) -> int | None:
    for place, cells in enumerate(raw):
        texts = [cell.decode("utf-8", "replace") for cell in cells[started] if cell]
        if texts and np.mean([bool(_UNIT_CELL.fullmatch(text)) for text in texts]) > ENOUGH:
            return place
    return None


def _channels(
    numbers: list[NumberCells],
    names: tuple[str, ...],
    taken: set[int | None],
    started: list[int],
    wanted: int | None,
    peak: float | None,
) -> list[Channel]:
    """Every column that may hold temperatures; the wanted one in any case, if it holds numbers."""
    found = []
    for place, each in enumerate(numbers):
        values = each.values[started]
        known = values[np.isfinite(values)]
        if not known.size or (
            place != wanted and (place in taken or np.mean(each.understood[started]) < ENOUGH)
        ):
            continue
        code = int(each.units[started].max())
        unit = named_unit(names[place], names)
        found.append(
            Channel(
                column=place,
                name=names[place],
                unit=coded_unit(code) or unit,
                lowest=float(known.min()),
                highest=float(known.max()),
                likeness=likeness(names[place], values, peak, has_unit=unit is not None),
            )
        )
    return found


def _chosen(channels: list[Channel], wanted: int | None) -> Channel | None:
    if wanted is not None:
        return next((each for each in channels if each.column == wanted), None)
    return chosen_channel(channels) if channels else None


def _chosen_remark(
    code: str, counted: str, column: int, others: Sequence[int], names: Sequence[str]
) -> RecordingRemark:
    figures: dict[str, float | str] = {
        "column": float(column),
        "name": names[column],
        counted: float(len(others) + 1),
        "others": ", ".join(names[each] or str(each + 1) for each in others),
    }
    return RecordingRemark(code, figures)
