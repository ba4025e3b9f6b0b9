"""Lines parted into cells: which delimiter, a sample to look at, and whole columns by pandas."""

import csv
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Literal

import numpy as np

from firings.services.recording.cells import Cells, cells_of, width_for
from firings.services.recording.choices import DELIMITERS
from firings.services.recording.series import Floats, RecordingError
from firings.services.recording.source import Lines

HEAD_LINES, SPREAD_LINES = 300, 700
"""Lines of a sample: the first, and others from all over the file."""
DELIMITER_LINES = 200
"""Lines of the sample, evenly taken, by which the delimiter is told."""
NEARLY_ALL, SOME = 0.8, 0.3
"""Share of lines with the same number of cells."""
MOST_HELD = 240 * 2**20
"""B of cells; three million lines of a time and a temperature take 100 MB."""
QUOTE = ord('"')


def parted(line: str, delimiter: str) -> list[str]:
    """The cells of one line.

    Examples
    --------
    >>> parted('12.03.2026;"803,2"', ";")
    ['12.03.2026', '803,2']
    """
    if delimiter == " ":
        return line.split()
    return next(csv.reader([line], delimiter=delimiter), [])


@dataclass(frozen=True)
class Sample:
    """Some lines of a file, parted.

    Parameters
    ----------
    numbers : of the lines, from 1
    texts : the lines
    rows : their cells
    delimiter : what parts them
    """

    numbers: list[int]
    texts: list[str]
    rows: list[list[str]]
    delimiter: str

    def text(self, row: int) -> str:
        """A whole line, without blanks around it.

        Parameters
        ----------
        row : from 0, of the sample

        Examples
        --------
        >>> Sample([7], [" 0; 20 "], [[" 0", " 20 "]], ";").text(0)
        '0; 20'
        """
        return self.texts[row].strip()

    def cell(self, row: int, place: int) -> str:
        """A cell, without blanks around it; empty where the row is shorter.

        Parameters
        ----------
        row, place : of the sample's line and of the column, from 0

        Examples
        --------
        >>> sample = Sample([7], [" 0; 20 "], [[" 0", " 20 "]], ";")
        >>> sample.cell(0, 1), sample.cell(0, 2)
        ('20', '')
        """
        return self.rows[row][place].strip() if place < len(self.rows[row]) else ""

    def column(self, place: int, rows: Sequence[int]) -> Cells:
        """The cells of a column, shape (rows,).

        Parameters
        ----------
        place : of the column, from 0
        rows : of the sample, from 0

        Examples
        --------
        >>> Sample([7], [" 0; 20 "], [[" 0", " 20 "]], ";").column(1, [0]).tolist()
        [b'20']
        """
        return cells_of([self.cell(row, place) for row in rows])


def samples_of(lines: Lines, delimiter: str | None, most_columns: int) -> Iterator[Sample]:
    """The sample by which a file is understood, parted in each way that it may be.

    Parameters
    ----------
    lines : of the file; of a short one all are taken
    delimiter : the only way, if a person chose it
    most_columns : what stands beyond is left out

    Raises
    ------
    RecordingError
        "columns_not_found" where nothing parts the lines.

    Examples
    --------
    >>> from firings.services.recording.source import lines_of
    >>> [each.delimiter for each in samples_of(lines_of(b"0;20,5\\n1;21,0\\n"), None, 8)]
    [';', ',']
    """
    numbers = _sampled(lines)
    texts = [lines.text(number) for number in numbers]
    for each in _delimiters(texts) if delimiter is None else [delimiter]:
        yield Sample(numbers, texts, [parted(text, each)[:most_columns] for text in texts], each)


def _sampled(lines: Lines) -> list[int]:
    if lines.count <= HEAD_LINES + SPREAD_LINES:
        return list(range(1, lines.count + 1))
    spread = np.linspace(HEAD_LINES + 1, lines.count, SPREAD_LINES).astype(int)
    return [*range(1, HEAD_LINES + 1), *spread.tolist()]


def _delimiters(texts: Sequence[str]) -> list[str]:
    """Those that part nearly all lines alike, the likelier first; then those that part some."""
    filled = [text for text in texts if text.strip()]
    filled = filled[:: max(len(filled) // DELIMITER_LINES, 1)]
    shares: dict[str, float] = {}
    for delimiter in DELIMITERS:
        counts = Counter(len(parted(text, delimiter)) for text in filled)
        alike = max((n for cells, n in counts.items() if cells > 1), default=0)
        shares[delimiter] = alike / max(len(filled), 1)
    by_share = sorted(DELIMITERS, key=lambda each: -min(shares[each], NEARLY_ALL))
    found = [each for each in by_share if shares[each] >= SOME]
    if not found:
        raise RecordingError("columns_not_found", line=1, text=texts[0] if texts else "")
    return found


@dataclass(frozen=True)
class Columns:
    """Whole columns by their place, from 0: as cells, and as numbers."""

    cells: dict[int, Cells]
    numbers: dict[int, Floats]


class Table:
    """The rows of a file from the first reading on, of which whole columns can be read.

    Parameters
    ----------
    lines : of the file
    sample : of its lines
    first_line : where the readings begin, from 1
    """

    def __init__(self, lines: Lines, sample: Sample, first_line: int) -> None:
        self.lines, self.sample, self.first_line = lines, sample, first_line
        self.count = lines.count - first_line + 1
        self._rows = [row for row, number in enumerate(sample.numbers) if number >= first_line]

    def width(self, column: int) -> int:
        """B of the widest cell of a column in the sample; 0 where there is none.

        Parameters
        ----------
        column : from 0

        Examples
        --------
        >>> from firings.services.recording.source import lines_of
        >>> lines = lines_of(b"s;C\\n0;20.5\\n")
        >>> Table(lines, next(samples_of(lines, ";", 8)), first_line=2).width(1)
        4
        """
        return max((len(self.sample.cell(row, column).encode()) for row in self._rows), default=0)

    def read(self, cells: Collection[int], numbers: Collection[int], decimal: str) -> Columns:
        """Whole columns, a value for each line.

        Parameters
        ----------
        cells : which to read as cells, from 0
        numbers : which to read as plain numbers; empty cells are NaN
        decimal : their decimal sign

        Raises
        ------
        ValueError
            Where one of `numbers` holds anything else.
        RecordingError
            "too_large" where the cells together would take more than `MOST_HELD`.

        Examples
        --------
        >>> from firings.services.recording.source import lines_of
        >>> lines = lines_of(b"s;C\\n0;20,5\\n30;\\n")
        >>> table = Table(lines, next(samples_of(lines, ";", 8)), first_line=2)
        >>> seen = table.read(cells={0}, numbers={1}, decimal=",")
        >>> seen.cells[0].tolist(), seen.numbers[1].tolist()
        ([b'0', b'30'], [20.5, nan])
        """
        from pandas import read_csv

        places = sorted({*cells, *numbers})
        widths = {place: width_for(self.width(place)) for place in cells}
        if self.count * sum(widths.values()) > MOST_HELD:
            raise RecordingError("too_large", figures={"limit": float(MOST_HELD)})
        kinds: dict[int, Any] = {place: f"S{width}" for place, width in widths.items()}
        kinds |= dict.fromkeys(numbers, np.float64)
        first = parted(self.lines.text(self.first_line), self.sample.delimiter)
        stream, quoting = self._stream()
        frame = read_csv(
            stream,
            sep=r"\s+" if self.sample.delimiter == " " else self.sample.delimiter,
            header=None,
            names=range(max(len(first), places[-1] + 1)),
            usecols=places,
            dtype=kinds,
            decimal=decimal,
            skip_blank_lines=False,
            skipinitialspace=any(self.sample.delimiter + " " in text for text in self.sample.texts),
            quoting=quoting,
            encoding="utf-8",
        )
        columns = {place: frame[place].to_numpy() for place in places}
        return Columns(
            {place: columns[place] for place in cells},
            {place: columns[place] for place in numbers},
        )

    def _stream(self) -> tuple[BytesIO, Literal[0, 3]]:
        """The rows, not copied unless they must be, and whether quotes mean anything."""
        data, start = self.lines.data, self.lines.start(self.first_line)
        if data.find(b'"', start) >= 0:
            return BytesIO(_paired(data[start:])), csv.QUOTE_MINIMAL
        stream = BytesIO(data)
        stream.seek(start)
        return stream, csv.QUOTE_NONE


def _paired(body: bytes) -> bytes:
    """The same with the quotes of a line blanked where one of them is alone."""
    marks = np.frombuffer(body, dtype=np.uint8).copy()
    quotes = np.flatnonzero(marks == QUOTE)
    lines = np.searchsorted(np.flatnonzero(marks == ord("\n")), quotes)
    alone = np.bincount(lines) % 2 == 1
    marks[quotes[alone[lines]]] = ord(" ")
    return marks.tobytes()
