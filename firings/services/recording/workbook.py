"""A workbook (XLSX) as lines of text, cells parted by tabs, so that it is read as any other."""

import datetime as dt
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from firings.services.recording.series import RecordingError, RecordingRemark
from studio.services.workbook import (
    MOST_ROWS,
    WorkbookError,
    is_workbook,
    opened_workbook,
    sheet_rows,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_COLUMNS = 256
LOOKED_AT = 50
"""Rows of each sheet by which the one with the readings is chosen, and how wide it is."""

DELIMITER = "\t"


@dataclass(frozen=True)
class SheetText:
    """One sheet of a workbook.

    Parameters
    ----------
    text : B, UTF-8: a line a row, cells parted by `DELIMITER`
    sheets : the names of all sheets, in their order
    remarks : which sheet was guessed
    """

    text: bytes
    sheets: tuple[str, ...]
    remarks: tuple[RecordingRemark, ...]


def sheet_names(raw: bytes) -> tuple[str, ...]:
    """The names of a workbook's sheets, in their order; none where it can't be opened.

    Parameters
    ----------
    raw : B, the file as it came

    Examples
    --------
    >>> sheet_names(b"time;temperature")
    ()
    """
    if not is_workbook(raw):
        return ()
    try:
        with _opened(raw) as book:
            return tuple(each.title for each in book.worksheets)
    except RecordingError:
        return ()


def workbook_text(raw: bytes, sheet: str | None = None, most_rows: int | None = None) -> SheetText:
    """The chosen sheet as text.

    Dates become ISO 8601, times of day hh:mm:ss, lengths of time h:mm:ss; numbers have a point.

    Parameters
    ----------
    raw : B, the file as it came
    sheet : the name of a sheet; by default the one with most numbers at its top
    most_rows : stop after so many

    Raises
    ------
    RecordingError
        "workbook_too_large", "too_many_lines", "workbook_damaged", "sheet_missing" or "empty".

    Examples
    --------
    >>> from io import BytesIO
    >>> from openpyxl import Workbook
    >>> book, file = Workbook(), BytesIO()
    >>> book.active.append([dt.time(17, 40), 20.5])
    >>> book.save(file)
    >>> workbook_text(file.getvalue()).text.split()
    [b'17:40:00', b'20.5']
    """
    with _opened(raw) as book:
        sheets = {each.title: each for each in book.worksheets}
        if sheet is not None and sheet not in sheets:
            raise RecordingError("sheet_missing", text=sheet)
        chosen = sheet or max(sheets, key=lambda title: _numbers(sheets[title]))
        lines = _lines(sheets[chosen], most_rows or MOST_ROWS + 1)
    if len(lines) > MOST_ROWS:
        raise _told(WorkbookError("too_many_lines", MOST_ROWS))
    if not any(lines):
        raise RecordingError("empty")
    remarks = []
    if sheet is None and len(sheets) > 1:
        figures: dict[str, float | str] = {"sheet": chosen, "sheets": float(len(sheets))}
        remarks.append(RecordingRemark("sheet_chosen", figures))
    text = ("\n".join(lines) + "\n").encode("utf-8", "replace")
    return SheetText(text, tuple(sheets), tuple(remarks))


@contextmanager
def _opened(raw: bytes) -> "Iterator[Any]":
    """The workbook; whatever goes wrong with it is told as a `RecordingError`."""
    try:
        with opened_workbook(raw, let_pass=(RecordingError,)) as book:
            yield book
    except WorkbookError as error:
        raise _told(error) from error


def _told(error: WorkbookError) -> RecordingError:
    figures = {} if error.limit is None else {"limit": float(error.limit)}
    return RecordingError(error.code, figures=figures)


def _numbers(sheet: Any) -> int:
    return sum(
        isinstance(cell, (int, float, dt.date, dt.time, dt.timedelta))
        for row in sheet_rows(sheet, LOOKED_AT, MOST_COLUMNS)
        for cell in row
    )


def _lines(sheet: Any, most: int) -> list[str]:
    top = sheet_rows(sheet, LOOKED_AT, MOST_COLUMNS)
    filled = [at for row in top for at, cell in enumerate(row) if cell is not None]
    width = max(filled, default=0) + 1
    return ["\t".join(map(_cell, row)).rstrip("\t") for row in sheet_rows(sheet, most, width)]


def _cell(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return " ".join(cell.split())
    if isinstance(cell, dt.datetime):
        return _to_milliseconds(cell).isoformat(" ")
    if isinstance(cell, dt.timedelta):
        seconds = round(cell.total_seconds(), 3)
        return f"{int(seconds // 3600)}:{int(seconds // 60 % 60):02}:{seconds % 60:06.3f}"
    if isinstance(cell, dt.time):
        return cell.isoformat()
    return str(cell)


def _to_milliseconds(moment: dt.datetime) -> dt.datetime:
    """A workbook holds days as a fraction: below a millisecond there is only rounding."""
    rounded = moment + dt.timedelta(microseconds=500)
    return rounded.replace(microsecond=rounded.microsecond // 1000 * 1000)
