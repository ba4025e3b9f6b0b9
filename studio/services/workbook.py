"""Workbooks (XLSX) opened within bounds.

A workbook is a zip of XML. What is unpacked is bounded before anything is opened, by size and by
the number of elements and attributes, of which each takes far more memory than it has bytes.
"""

import re
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from itertools import islice
from typing import Any

MOST_UNPACKED = 64 * 2**20
"""B of XML in a workbook."""
MOST_ELEMENTS = 8_000_000
"""Elements and attributes together: about 500,000 rows of two cells."""
MOST_PARTS = 2_000
MOST_ROWS = 1_048_576
"""As many as a sheet can have."""

_SIGNATURE = b"PK\x03\x04"
_PIECE = 2**20
_ENCODING = re.compile(rb"""^[^>]{0,200}encoding\s*=\s*["']([^"']*)""")
_XML = (".xml", ".rels", ".vml")


class WorkbookError(ValueError):
    """A workbook that isn't opened: "workbook_too_large", "too_many_lines" or "workbook_damaged".

    Parameters
    ----------
    code : what is wrong
    limit : that was passed, B or rows, where one was

    Examples
    --------
    >>> WorkbookError("too_many_lines", 1048576).limit
    1048576
    """

    def __init__(self, code: str, limit: int | None = None) -> None:
        super().__init__(code)
        self.code = code
        self.limit = limit


def is_workbook(raw: bytes) -> bool:
    """Whether a file begins as a workbook does.

    Parameters
    ----------
    raw : B, the file as it came

    Examples
    --------
    >>> is_workbook(b"time;temperature")
    False

    Source: the signature of a zip's local file header, PKWARE APPNOTE 4.3.7.
    """
    return raw.startswith(_SIGNATURE)


@contextmanager
def opened_workbook(raw: bytes, let_pass: tuple[type[Exception], ...] = ()) -> Iterator[Any]:
    """The workbook, open; rows are read from it within the `with`.

    Parameters
    ----------
    raw : B, the file as it came
    let_pass : errors of the caller's own that pass as they are

    Raises
    ------
    WorkbookError
        for whatever goes wrong with it, also while its rows are read

    Examples
    --------
    >>> with opened_workbook(b"time;temperature") as book:
    ...     pass
    Traceback (most recent call last):
    studio.services.workbook.WorkbookError: workbook_damaged
    """
    from openpyxl import load_workbook

    passed_on: tuple[type[Exception], ...] = (WorkbookError, *let_pass)
    try:
        _check(raw)
        book = load_workbook(BytesIO(raw), read_only=True, data_only=True, keep_links=False)
        yield book
        book.close()
    except passed_on:
        raise
    except MemoryError:
        raise WorkbookError("workbook_too_large") from None
    except Exception as error:
        # what zipfile, the XML parser and openpyxl stumble over in a garbled part has many names
        raise WorkbookError("workbook_damaged") from error


def sheet_rows(sheet: Any, most_rows: int, most_columns: int) -> Iterator[tuple[Any, ...]]:
    """The values of a sheet, row by row.

    Parameters
    ----------
    sheet : of an open workbook
    most_rows, most_columns : stop after so many

    Examples
    --------
    >>> from openpyxl import Workbook
    >>> book, file = Workbook(), BytesIO()
    >>> book.active.append(["Heron", 20.5])
    >>> book.save(file)
    >>> with opened_workbook(file.getvalue()) as found:
    ...     list(sheet_rows(found.worksheets[0], 10, 2))
    [('Heron', 20.5)]
    """
    sheet.reset_dimensions()  # what a sheet says of its size may be wrong
    return islice(sheet.iter_rows(values_only=True, max_col=most_columns), most_rows)


def _check(raw: bytes) -> None:
    """Unpack every part piece by piece, keeping none, and count."""
    unpacked = elements = rows = 0
    with zipfile.ZipFile(BytesIO(raw)) as parts:
        listed = parts.infolist()
        if len(listed) > MOST_PARTS:
            raise WorkbookError("workbook_too_large")
        for part in listed:
            if not part.filename.lower().endswith(_XML):
                continue
            if unpacked + part.file_size > MOST_UNPACKED:
                raise WorkbookError("workbook_too_large", MOST_UNPACKED)
            with parts.open(part) as opened:
                first = True
                while piece := opened.read(_PIECE):
                    if first:
                        _check_prolog(piece)
                        first = False
                    if b"<!" in piece.replace(b"<!--", b""):  # a workbook declares no entities
                        raise WorkbookError("workbook_damaged")
                    unpacked += len(piece)
                    elements += piece.count(b"<") + piece.count(b"=")
                    rows += piece.count(b"<row")
                    if rows > MOST_ROWS + 1:
                        raise WorkbookError("too_many_lines", MOST_ROWS)
                    if unpacked > MOST_UNPACKED or elements > MOST_ELEMENTS:
                        raise WorkbookError("workbook_too_large", MOST_UNPACKED)


def _check_prolog(head: bytes) -> None:
    """Only UTF-8: in another encoding what is counted would not be what is parsed."""
    declared = _ENCODING.match(head)
    if b"\0" in head[:200] or (declared and declared[1].lower() not in (b"utf-8", b"us-ascii")):
        raise WorkbookError("workbook_damaged")
