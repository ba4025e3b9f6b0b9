"""A workbook (XLSX) as lines of text, cells parted by tabs, so that it is read as any other file.

A workbook is a zip of XML. What is unpacked is bounded before anything is opened, by size and by
the number of elements and attributes, of which each takes far more memory than it has bytes.
"""

import datetime as dt
import re
import zipfile
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from itertools import islice
from typing import TYPE_CHECKING, Any

from firings.services.recording.series import RecordingError, RecordingRemark

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_UNPACKED = 64 * 2**20
"""B of XML in a workbook."""
MOST_ELEMENTS = 8_000_000
"""Elements and attributes together: about 500,000 rows of two cells."""
MOST_PARTS = 2_000
MOST_COLUMNS = 256
MOST_ROWS = 1_048_576
"""As many as a sheet can have."""
LOOKED_AT = 50
"""Rows of each sheet by which the one with the readings is chosen, and how wide it is."""

_SIGNATURE = b"PK\x03\x04"
_PIECE = 2**20
_ENCODING = re.compile(rb"""^[^>]{0,200}encoding\s*=\s*["']([^"']*)""")
_XML = (".xml", ".rels", ".vml")


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


def is_workbook(raw: bytes) -> bool:
    """Whether a file begins as a workbook does.

    Parameters
    ----------
    raw : B, the file as it came

    Examples
    --------
    >>> is_workbook(b"time;temperature")
    False
    """
    return raw.startswith(_SIGNATURE)


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
        raise _too_many_rows()
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
    from openpyxl import load_workbook

    try:
        _check(raw)
        book = load_workbook(BytesIO(raw), read_only=True, data_only=True, keep_links=False)
        yield book
        book.close()
    except RecordingError:
        raise
    except MemoryError:
        raise RecordingError("workbook_too_large") from None
    except Exception as error:
        # what zipfile, the XML parser and openpyxl stumble over in a garbled part has many names
        raise RecordingError("workbook_damaged") from error


def _check(raw: bytes) -> None:
    """Unpack every part piece by piece, keeping none, and count."""
    unpacked = elements = rows = 0
    with zipfile.ZipFile(BytesIO(raw)) as parts:
        listed = parts.infolist()
        if len(listed) > MOST_PARTS:
            raise RecordingError("workbook_too_large")
        for part in listed:
            if not part.filename.lower().endswith(_XML):
                continue
            if unpacked + part.file_size > MOST_UNPACKED:
                raise RecordingError("workbook_too_large", figures={"limit": float(MOST_UNPACKED)})
            with parts.open(part) as opened:
                first = True
                while piece := opened.read(_PIECE):
                    if first:
                        _check_prolog(piece)
                        first = False
                    if b"<!" in piece.replace(b"<!--", b""):  # a workbook declares no entities
                        raise RecordingError("workbook_damaged")
                    unpacked += len(piece)
                    elements += piece.count(b"<") + piece.count(b"=")
                    rows += piece.count(b"<row")
                    if rows > MOST_ROWS + 1:
                        raise _too_many_rows()
                    if unpacked > MOST_UNPACKED or elements > MOST_ELEMENTS:
                        raise RecordingError(
                            "workbook_too_large", figures={"limit": float(MOST_UNPACKED)}
                        )


def _too_many_rows() -> RecordingError:
    return RecordingError("too_many_lines", figures={"limit": float(MOST_ROWS)})


def _check_prolog(head: bytes) -> None:
    """Only UTF-8: in another encoding what is counted would not be what is parsed."""
    declared = _ENCODING.match(head)
    if b"\0" in head[:200] or (declared and declared[1].lower() not in (b"utf-8", b"us-ascii")):
        raise RecordingError("workbook_damaged")


def _rows(sheet: Any, most_rows: int, most_columns: int) -> "Iterator[tuple[Any, ...]]":
    sheet.reset_dimensions()  # what a sheet says of its size may be wrong
    return islice(sheet.iter_rows(values_only=True, max_col=most_columns), most_rows)


def _numbers(sheet: Any) -> int:
    return sum(
        isinstance(cell, (int, float, dt.date, dt.time, dt.timedelta))
        for row in _rows(sheet, LOOKED_AT, MOST_COLUMNS)
        for cell in row
    )


def _lines(sheet: Any, most: int) -> list[str]:
    top = _rows(sheet, LOOKED_AT, MOST_COLUMNS)
    filled = [at for row in top for at, cell in enumerate(row) if cell is not None]
    width = max(filled, default=0) + 1
    return ["\t".join(map(_cell, row)).rstrip("\t") for row in _rows(sheet, most, width)]


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
