"""A file as lines of text: UTF-8 whatever it was, one kind of line end, bounded in every direction.

A file that is no text, too large or all in one line is refused here, before anything is parsed.
"""

import codecs
import os
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.series import LONGEST_TEXT, RecordingError

File = str | os.PathLike[str] | BinaryIO

MOST_BYTES = 128 * 2**20
"""B in a file; a week at one reading a second is about 20 MB."""
MOST_LINES = 3_000_000
"""A month at one reading a second is 2.6 million."""
LONGEST_LINE = 16_384
"""B in a line; a hundred channels take about 1,000."""
HEAD = 65_536
"""B that are looked at to see what a file is."""
MOST_CONTROLS = 0.05
"""Share of control characters above which a file is no text."""

_BOMS = (  # the longer first: UTF-32 begins as UTF-16 does
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_CONTROLS = bytes(set(range(32)) - set(b"\t\n\r\f\x1a"))
_NO_TEXT = (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"\x1f\x8b", b"Rar!", b"7z\xbc\xaf")
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True)
class Lines:
    """The lines of a file.

    Parameters
    ----------
    data : B, UTF-8, every line ended by a line feed
    ends : where each line's line feed stands in `data`, shape (n,)
    """

    data: bytes
    ends: NDArray[np.int64]

    @property
    def count(self) -> int:
        """How many lines there are.

        Examples
        --------
        >>> lines_of(b"s;C\\n0;20").count
        2
        """
        return self.ends.size

    def start(self, line: int) -> int:
        """Where a line begins in `data`, B from its beginning.

        Parameters
        ----------
        line : from 1, up to `count`

        Raises
        ------
        IndexError
            For a line beyond that.

        Examples
        --------
        >>> lines_of(b"s;C\\n0;20").start(2)
        4
        """
        return 0 if line == 1 else int(self.ends[line - 2]) + 1

    def text(self, line: int) -> str:
        """A line without its end; empty beyond the last.

        Parameters
        ----------
        line : from 1

        Examples
        --------
        >>> lines_of(b"s;C\\n0;20").text(2), lines_of(b"s;C").text(9)
        ('0;20', '')
        """
        if line > self.count:
            return ""
        return self.data[self.start(line) : int(self.ends[line - 1])].decode("utf-8", "replace")


def raw_bytes(file: File) -> bytes:
    """All of a file, read from its beginning.

    Parameters
    ----------
    file : path, or binary file

    Returns
    -------
    B, 1 to `MOST_BYTES` of them.

    Raises
    ------
    RecordingError
        "empty", or "too_large" with the limit in B.
    OSError
        For a path that can't be opened.

    Examples
    --------
    >>> from io import BytesIO
    >>> raw_bytes(BytesIO(b"0;20"))
    b'0;20'
    """
    if isinstance(file, (str, os.PathLike)):
        path = Path(file)
        raw = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    else:
        if file.seekable():
            file.seek(0)
        raw = file.read(MOST_BYTES + 1)
    if raw is None or len(raw) > MOST_BYTES:
        raise RecordingError("too_large", figures={"limit": float(MOST_BYTES)})
    if not raw:
        raise RecordingError("empty")
    return bytes(raw)


def lines_of(raw: bytes, most_lines: int | None = None) -> Lines:
    """The lines of a text file in UTF-8, UTF-16, UTF-32 or a single-byte encoding.

    Parameters
    ----------
    raw : the file as it came
    most_lines : stop after so many; by default all are wanted

    Raises
    ------
    RecordingError
        "empty", "old_workbook", "not_a_table", "too_many_lines" or "line_too_long".

    Examples
    --------
    >>> lines = lines_of("\\ufeffs;°C\\r\\n0;20\\r\\n".encode("utf-16-le"))
    >>> lines.count, lines.text(1), lines.text(2)
    (2, 's;°C', '0;20')
    """
    if raw.startswith(_OLD_WORKBOOK):
        raise RecordingError("old_workbook")
    if raw.startswith(_NO_TEXT):
        raise RecordingError("not_a_table")
    data = _with_line_feeds(_as_utf8(raw))
    head = data[:HEAD]
    if len(head) - len(head.translate(None, _CONTROLS)) > MOST_CONTROLS * len(head):
        raise RecordingError("not_a_table")
    if not head.strip() and not data.strip():
        raise RecordingError("empty")
    return _bounded(data, most_lines)


def _as_utf8(raw: bytes) -> bytes:
    encoding, start = _encoding(raw)
    if encoding == "utf-8":
        data = raw[start:] if start else raw
        if data.isascii():
            return data
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            # one byte a character, and no byte without a meaning: never fails
            return data.decode("latin-1").encode("utf-8")
        return data
    return raw[start:].decode(encoding, "replace").encode("utf-8", "replace")


def _encoding(raw: bytes) -> tuple[str, int]:
    """The encoding, and how many bytes its mark takes."""
    for mark, encoding in _BOMS:
        if raw.startswith(mark):
            return encoding, len(mark)
    head = raw[:HEAD]
    for first_zero, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        zeros = head[first_zero::2].count(0)
        others = head[1 - first_zero :: 2].count(0)
        if zeros > 0.7 * (len(head) / 2) and others < 0.1 * zeros:
            return encoding, 0
    return "utf-8", 0


def _with_line_feeds(data: bytes) -> bytes:
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if b"\0" in data:  # what some cards leave behind when the power fails
        data = data.replace(b"\0", b" ")
    return data if data.endswith(b"\n") else data + b"\n"


def _bounded(data: bytes, most_lines: int | None) -> Lines:
    ends = _line_ends(data, most_lines or MOST_LINES)
    if int(ends[-1]) + 1 < len(data):
        if most_lines is None:
            raise RecordingError("too_many_lines", figures={"limit": float(MOST_LINES)})
        data = data[: int(ends[-1]) + 1]
    lengths = np.diff(ends, prepend=-1)
    longest = int(lengths.argmax())
    if lengths[longest] > LONGEST_LINE:
        start = int(ends[longest] - lengths[longest]) + 1
        text = data[start : start + LONGEST_TEXT].decode("utf-8", "replace")
        raise RecordingError(
            "line_too_long", line=longest + 1, text=text, figures={"limit": float(LONGEST_LINE)}
        )
    return Lines(data, ends)


def _line_ends(data: bytes, most: int) -> NDArray[np.int64]:
    """In pieces, so that what is in between stays small."""
    piece = 2**22
    found: list[NDArray[np.int64]] = []
    seen = 0
    everything = np.frombuffer(data, dtype=np.uint8)
    for start in range(0, everything.size, piece):
        ends = np.flatnonzero(everything[start : start + piece] == ord("\n")) + start
        found.append(ends)
        seen += ends.size
        if seen >= most:
            break
    return np.concatenate(found)[:most]
