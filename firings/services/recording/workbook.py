"""A workbook (XLSX) as lines of text, cells parted by tabs, so that it is read as any other file.

A workbook is a zip of XML. What is unpacked is bounded before anything is opened, by size and by
the number of elements and attributes, of which each takes far more memory than it has bytes.
"""

import datetime as dt
import re
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import ParseError  # only what is caught; openpyxl parses

import openpyxl

from firings.services.recording.series import RecordingError, RecordingRemark

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_UNPACKED = 64 * 2**20
"""B of XML in a workbook."""
MOST_ELEMENTS = 8_000_000
"""Elements and attributes together: about 500,000 rows of two cells."""
MOST_PARTS = 2_000
MOST_COLUMNS = 256
LOOKED_AT = 50
"""Rows of each sheet by which the one with the readings is chosen."""

SIGNATURE = b"PK\x03\x04"
_PIECE = 2**20
_ENCODING = re.compile(rb"""^[^>]{0,200}encoding\s*=\s*["']([^"']*)""")
_XML = (".xml", ".rels", ".vml")


def workbook_text(
    raw: bytes, sheet: str | None = None, most_rows: int | None = None
) -> tuple[bytes, list[RecordingRemark]]:
    """The chosen sheet as UTF-8 text: a line a row, cells parted by tabs.

    Dates become ISO 8601, times of day hh:mm:ss, lengths of time h:mm:ss; numbers have a point.

    Parameters
    ----------
    raw : the file as it came
    sheet : the name of a sheet; by default the one with most numbers at its top
    most_rows : stop after so many

    Raises
    ------
    RecordingError
        "workbook_too_large", "workbook_damaged" or "sheet_missing".
    """
    try:
        _check(raw)
        book = openpyxl.load_workbook(
            BytesIO(raw), read_only=True, data_only=True, keep_links=False
        )
        sheets = {each.title: each for each in book.worksheets}
        if sheet is not None and sheet not in sheets:
            raise RecordingError("sheet_missing", text=sheet)
        chosen = sheet or max(sheets, key=lambda title: _numbers(sheets[title]))
        lines = [_line(row) for row in _rows(sheets[chosen], most_rows)]
        book.close()
    except RecordingError:
        raise
    except MemoryError:
        raise RecordingError("workbook_too_large") from None
    except (zipfile.BadZipFile, ParseError, KeyError, ValueError, TypeError, IndexError) as error:
        raise RecordingError("workbook_damaged") from error
    except (AttributeError, OSError, EOFError, NotImplementedError, RuntimeError) as error:
        # what openpyxl and zipfile let through from a part that is missing or garbled
        raise RecordingError("workbook_damaged") from error
    if not lines:
        raise RecordingError("empty")
    remarks = []
    if sheet is None and len(sheets) > 1:
        figures: dict[str, float | str] = {"sheet": chosen, "sheets": float(len(sheets))}
        remarks.append(RecordingRemark("sheet_chosen", figures))
    return ("\n".join(lines) + "\n").encode("utf-8", "replace"), remarks


def _check(raw: bytes) -> None:
    """Unpack every part piece by piece, keeping none, and count."""
    unpacked = elements = 0
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
                    if unpacked > MOST_UNPACKED or elements > MOST_ELEMENTS:
                        raise RecordingError(
                            "workbook_too_large", figures={"limit": float(MOST_UNPACKED)}
                        )


def _check_prolog(head: bytes) -> None:
    """Only UTF-8: in another encoding what is counted would not be what is parsed."""
    declared = _ENCODING.match(head)
    if b"\0" in head[:200] or (declared and declared[1].lower() not in (b"utf-8", b"us-ascii")):
        raise RecordingError("workbook_damaged")


def _rows(sheet: Any, most: int | None) -> "Iterator[tuple[Any, ...]]":
    sheet.reset_dimensions()  # what a sheet says of its size may be wrong
    yield from sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS, max_row=most)


def _numbers(sheet: Any) -> int:
    return sum(
        isinstance(cell, (int, float, dt.date, dt.time, dt.timedelta))
        for row in _rows(sheet, LOOKED_AT)
        for cell in row
    )


def _line(row: tuple[Any, ...]) -> str:
    return "\t".join(_cell(cell) for cell in row)


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
