"""Lists as lines of CSV for spreadsheets, and what a cell of such a list was before."""

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_MARK = "'"


class Echo:
    """A file of which `csv.writer` only needs the write, here given back line by line."""

    def write(self, line: str) -> str:
        """The line itself.

        >>> Echo().write("a,b")
        'a,b'
        """
        return line


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    """The header behind the mark by which spreadsheets know UTF-8, then a line a row.

    Parameters
    ----------
    header : names of the columns
    rows : each as long as the header; None is an empty cell

    >>> list(csv_lines(["kiln", "note"], [("Heron", "=1+1"), ("Wren", None)]))
    ['\\ufeffkiln,note\\r\\n', "Heron,'=1+1\\r\\n", 'Wren,\\r\\n']

    Source: RFC 4180.
    """
    writer = csv.writer(Echo())
    yield "\ufeff" + writer.writerow(header)
    for row in rows:
        yield writer.writerow([safe_cell(value) for value in row])


def safe_cell(value: Any) -> str:
    """Text of a cell that no spreadsheet takes for a formula; numbers stay numbers.

    A text that begins as a formula, or as one that was marked already, gets a mark before it, so
    that `plain_cell` gives back what it was.

    >>> safe_cell("=1+1"), safe_cell("-2"), safe_cell("'=1+1"), safe_cell(None)
    ("'=1+1", '-2', "''=1+1", '')

    Source: the characters are those that spreadsheets take for the begin of a formula (common
    practice, no source).
    """
    text = "" if value is None else str(value)
    bare = text.lstrip(_MARK)
    if bare.startswith(_FORMULA_STARTS) and not _NUMBER.fullmatch(text):
        return f"{_MARK}{text}"
    return text


def plain_cell(cell: str) -> str:
    """What a cell was before `safe_cell`.

    >>> plain_cell("'=1+1"), plain_cell("'tis"), plain_cell(safe_cell("''@"))
    ('=1+1', "'tis", "''@")

    Source: inverse of `safe_cell`.
    """
    marked = cell.startswith(_MARK) and cell.lstrip(_MARK).startswith(_FORMULA_STARTS)
    return cell[1:] if marked else cell
