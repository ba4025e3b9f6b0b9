"""A file as a table of text: a line of headers, and rows that know their line in the file."""

import codecs
import csv
import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import StringIO
from typing import Any

from studio.services.csv_cells import plain_cell
from studio.services.workbook import WorkbookError, is_workbook, opened_workbook, sheet_rows

MOST_BYTES = 10 * 2**20
"""B in a file; 20,000 rows of a shelf are about 2 MB."""
MOST_ROWS = 50_000
MOST_COLUMNS = 60
LONGEST_CELL = 20_000
"""Characters in a cell, beyond which a quote was never closed; a list has narrower limits."""
MOST_CONTROLS = 0.05
"""Share of control characters above which a file is no text."""

_HEAD = 65_536
_SAMPLED = 30
_DELIMITERS = ",;\t|"
_CONTROLS = {chr(code) for code in range(32)} - set("\t\n\r\f\x1a")
_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NO_TEXT = (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"\x1f\x8b", b"Rar!", b"7z\xbc\xaf")
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


class TableError(ValueError):
    """A file that is no table of ours.

    Parameters
    ----------
    code : "empty", "no_rows", "not_a_table", "old_workbook", "too_large", "too_many_rows",
        "too_many_columns", "cell_too_long", "workbook_too_large" or "workbook_damaged"
    line : of the file, from 1, where one is to blame
    limit : that was passed, where one was

    Examples
    --------
    >>> TableError("cell_too_long", line=7).line
    7
    """

    def __init__(self, code: str, *, line: int | None = None, limit: int | None = None) -> None:
        super().__init__(code)
        self.code = code
        self.line = line
        self.limit = limit


@dataclass(frozen=True)
class TableRow:
    """A row that is not blank.

    Parameters
    ----------
    line : of the file, from 1, on which it begins
    cells : as many as the table has headers
    """

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Headers, and the rows beneath them."""

    headers: tuple[str, ...]
    rows: tuple[TableRow, ...]


def read_table(raw: bytes) -> Table:
    """The table in a file.

    The headers are the first line with two cells or more, or the first at all. Blank lines are
    passed over. What `safe_cell` marked is read as it was.

    Parameters
    ----------
    raw : B, the file as it came: CSV parted by comma, semicolon, tab or bar, in UTF-8, UTF-16 or
        Windows-1252; or a workbook (XLSX), of which the first sheet that has something counts

    Raises
    ------
    TableError
        for a file that is none, or too large

    Examples
    --------
    >>> table = read_table("colour;mm\\r\\n\\r\\n\\"moss; dark\\";3,2\\r\\n".encode("cp1252"))
    >>> table.headers
    ('colour', 'mm')
    >>> table.rows
    (TableRow(line=3, cells=('moss; dark', '3,2')),)

    Source: RFC 4180 for quotes.
    """
    if len(raw) > MOST_BYTES:
        raise TableError("too_large", limit=MOST_BYTES)
    if not raw.strip():
        raise TableError("empty")
    if raw.startswith(_OLD_WORKBOOK):
        raise TableError("old_workbook")
    if raw.startswith(_NO_TEXT):
        raise TableError("not_a_table")
    return _table(_workbook_lines(raw) if is_workbook(raw) else _text_lines(_text(raw)))


def _table(lines: Iterable[tuple[int, list[str]]]) -> Table:
    headers: list[str] | None = None
    passed: list[tuple[int, list[str]]] = []
    rows: list[TableRow] = []
    for line, cells in lines:
        filled = sum(1 for cell in cells if cell.strip())
        if not filled:
            continue
        if headers is None and filled < 2:
            passed.append((line, cells))  # a title, or a list of one column
            continue
        if headers is None:
            headers = _headers(cells)
            continue
        rows.append(_row(line, cells, len(headers)))
        if len(rows) > MOST_ROWS:
            raise TableError("too_many_rows", limit=MOST_ROWS)
    if headers is None and passed:
        headers = _headers(passed[0][1])
        rows = [_row(line, cells, len(headers)) for line, cells in passed[1 : MOST_ROWS + 1]]
    if headers is None or not rows:
        raise TableError("no_rows")
    return Table(tuple(headers), tuple(rows))


def _headers(cells: list[str]) -> list[str]:
    while cells and not cells[-1].strip():
        cells = cells[:-1]
    if len(cells) > MOST_COLUMNS:
        raise TableError("too_many_columns", limit=MOST_COLUMNS)
    return [" ".join(plain_cell(cell).split())[:80] for cell in cells]


def _row(line: int, cells: list[str], width: int) -> TableRow:
    if any(len(cell) > LONGEST_CELL for cell in cells[:width]):
        raise TableError("cell_too_long", line=line, limit=LONGEST_CELL)
    kept = [plain_cell(cell.strip(" \u00a0")) for cell in cells[:width]]
    return TableRow(line, tuple(kept + [""] * (width - len(kept))))


def _text(raw: bytes) -> str:
    text = _decoded(raw)
    head = text[:_HEAD]
    if sum(1 for letter in head if letter in _CONTROLS) > MOST_CONTROLS * len(head):
        raise TableError("not_a_table")
    return text.replace("\0", " ")  # what a card leaves behind when the power fails


def _decoded(raw: bytes) -> str:
    for mark, encoding in _BOMS:
        if raw.startswith(mark):
            return raw[len(mark) :].decode(encoding, "replace")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")


def _text_lines(text: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(StringIO(text, newline=""), delimiter=_delimiter(text))
    begins = 1
    try:
        for cells in reader:
            yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as error:  # a quote that is never closed swallows the rest of the file
        raise TableError("cell_too_long", line=begins, limit=LONGEST_CELL) from error


def _delimiter(text: str) -> str:
    """The one by which most of the first lines have equally many cells, and several."""
    return max(_DELIMITERS, key=lambda each: _evenness(text, each))


def _evenness(text: str, delimiter: str) -> tuple[int, int]:
    widths: list[int] = []
    try:
        for cells in csv.reader(StringIO(text[:_HEAD], newline=""), delimiter=delimiter):
            if any(cell.strip() for cell in cells):
                widths.append(len(cells))
            if len(widths) == _SAMPLED:
                break
    except csv.Error:
        return 0, 0
    several = [width for width in widths if width > 1]
    commonest = max(set(several), key=lambda width: (several.count(width), width), default=0)
    return several.count(commonest), commonest


def _workbook_lines(raw: bytes) -> Iterator[tuple[int, list[str]]]:
    try:
        with opened_workbook(raw, let_pass=(TableError,)) as book:
            for sheet in book.worksheets:
                found = False
                for line, cells in enumerate(sheet_rows(sheet, MOST_ROWS + 100, MOST_COLUMNS + 1)):
                    found = found or any(cell is not None for cell in cells)
                    yield line + 1, [_cell(cell) for cell in cells]
                if found:
                    return
    except WorkbookError as error:
        code = "too_many_rows" if error.code == "too_many_lines" else error.code
        raise TableError(code, limit=error.limit) from error


def _cell(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, dt.datetime):
        midnight = cell.time() == dt.time()
        return cell.date().isoformat() if midnight else cell.isoformat(" ", "seconds")
    if isinstance(cell, float):
        # What a sheet holds as 0.1 + 0.2 it shows as 0.3.
        text = format(round(cell, 10), ".10f").rstrip("0").rstrip(".")
        # Three decimals alone could be thousands where a comma is the decimal sign.
        return f"{text}0" if text[-4:-3] == "." else text
    return str(cell)
