"""Damaged files, and a process that reads them within bounds.

`python -m tests.firings.recordings.damaging FOLDER` reads the files of a folder one after the other
in a process that may never hold more than `MOST_MEMORY`, and prints a line of JSON for each: what
came of it, and how many seconds of the processor it took.
"""

import json
import resource
import sys
import time
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np

from firings.services.recording import Recording, RecordingError, read_recording
from tests.firings.recordings.test_shapes import SHAPES
from tests.firings.recordings.writing import Series, a_firing, write

MOST_MEMORY = 2**30
"""B of address space, of which the interpreter and its libraries take about 300 MB."""
LONGEST = 10.0
"""s of the processor for any one file, however busy the machine is."""

Rng = np.random.Generator


def cut(data: bytes, rng: Rng) -> bytes:
    return data[: int(rng.integers(0, len(data)))]


def flip_bits(data: bytes, rng: Rng) -> bytes:
    bytes_ = np.frombuffer(data, dtype=np.uint8).copy()
    at = rng.integers(0, bytes_.size, int(10 ** rng.uniform(0, 3.5)))
    bytes_[at] ^= np.uint8(1) << rng.integers(0, 8, at.size).astype(np.uint8)
    return bytes_.tobytes()


def lose_a_byte(data: bytes, rng: Rng) -> bytes:
    at = int(rng.integers(0, len(data)))
    return data[:at] + data[at + 1 :]


def wrong_encoding(data: bytes, rng: Rng) -> bytes:
    read = ["latin-1", "cp037"][int(rng.integers(2))]
    written = ["utf-16-le", "utf-8", "utf-7"][int(rng.integers(3))]
    return data.decode(read).encode(written, "replace")


def fill_with_zeros(data: bytes, rng: Rng) -> bytes:
    start, end = sorted(rng.integers(0, len(data), 2).tolist())
    return data[:start] + b"\0" * (end - start) + data[end:]


def garbage_inside(data: bytes, rng: Rng) -> bytes:
    at = int(rng.integers(0, len(data)))
    return data[:at] + rng.bytes(int(rng.integers(1, 20_000))) + data[at:]


def shuffled_lines(data: bytes, rng: Rng) -> bytes:
    lines = data.split(b"\n")
    return b"\n".join(lines[at] for at in rng.permutation(len(lines)))


def cells_exchanged(data: bytes, rng: Rng) -> bytes:
    marks = [b";", b",", b".", b":", b"\t", b"-", b"/", b'"', b" "]
    one, other = (marks[at] for at in rng.choice(len(marks), 2, replace=False))
    return data.replace(one, other)


def two_files_in_one(data: bytes, rng: Rng) -> bytes:
    shape = list(SHAPES.values())[int(rng.integers(len(SHAPES)))]
    return data + write(a_firing(300.0, 5.0), shape)


def nothing_but_noise(data: bytes, rng: Rng) -> bytes:
    return rng.bytes(int(rng.integers(0, 50_000)))


def one_line(data: bytes, rng: Rng) -> bytes:
    return data.replace(b"\n", b" ").replace(b"\r", b" ")


DAMAGES: tuple[Callable[[bytes, Rng], bytes], ...] = (
    cut,
    flip_bits,
    lose_a_byte,
    wrong_encoding,
    fill_with_zeros,
    garbage_inside,
    shuffled_lines,
    cells_exchanged,
    two_files_in_one,
    nothing_but_noise,
    one_line,
)


def _zip(parts: dict[str, bytes], names: int = 0) -> bytes:
    held = BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            file.writestr(name, data)
        for at in range(names):
            file.writestr(f"xl/{at}.xml", b"<a/>")
    return held.getvalue()


def _bomb(sheet: bytes, **others: bytes) -> bytes:
    """A true workbook, its sheet replaced."""
    whole = write(a_firing(3600.0), SHAPES["workbook"])
    with zipfile.ZipFile(BytesIO(whole)) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    parts["xl/worksheets/sheet1.xml"] = sheet
    return _zip(parts | {name.replace("_", "/") + ".xml": data for name, data in others.items()})


_HEAD = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
_TAIL = b"</sheetData></worksheet>"
_ENTITIES = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "%s">]>' % (b"7" * 1000)

HUGE: dict[str, Callable[[], bytes]] = {
    "100 MB in one line.csv": lambda: b"7" * 100_000_000,
    "100 MB in one line behind a table.csv": lambda: b"s,C\n0,20\n1,21\n" + b"7" * 100_000_000,
    "130 MB of lines.csv": lambda: b"12,20\n" * 22_000_000,
    "100 MB of line ends.csv": lambda: b"\n" * 100_000_000,
    "100 MB of commas.csv": lambda: (b"," * 10_000 + b"\n") * 10_000,
    "100 MB of quotes.csv": lambda: (b'"' * 99 + b"\n") * 1_000_000,
    "100 MB of zeros.csv": lambda: b"\0" * 100_000_000,
    "60 MB of lines in UTF-16.csv": lambda: ("12345,20\n" * 3_000_000).encode("utf-16"),
    "bomb of zeros.xlsx": lambda: _bomb(b"0" * 300_000_000),
    "bomb of cells.xlsx": lambda: _bomb(_HEAD + b"<row>" + b"<c/>" * 15_000_000),
    "bomb of rows.xlsx": lambda: _bomb(_HEAD + b"<row/>" * 7_000_000 + _TAIL),
    "bomb of attributes.xlsx": lambda: _bomb(
        _HEAD + b"<row><c " + b" ".join(b'a%d=""' % at for at in range(6_000_000)) + b"/></row>"
    ),
    "bomb of strings.xlsx": lambda: _bomb(
        _HEAD + _TAIL, xl_sharedStrings=b"<sst>" + b"<si><t>7</t></si>" * 3_000_000 + b"</sst>"
    ),
    "bomb of entities.xlsx": lambda: _bomb(_ENTITIES + _HEAD + b"&b;" * 100_000 + _TAIL),
    "bomb in another encoding.xlsx": lambda: _bomb(
        (_HEAD + b"<row/>" * 100_000 + _TAIL).decode().encode("utf-16")
    ),
    "bomb of parts.xlsx": lambda: _zip({}, names=5_000),
    "zip of something else.xlsx": lambda: _zip({"mimetype": b"text/plain", "letter.txt": b"7"}),
    "rows far down.xlsx": lambda: _bomb(
        _HEAD + b'<row r="1048576"><c r="XFD1048576"><v>7</v></c></row>' + _TAIL
    ),
    "empty.csv": lambda: b"",
    "empty.xlsx": lambda: b"PK\x03\x04",
}


def sane(recording: Recording) -> bool:
    """Whether a recording keeps what `read_recording` promises."""
    return bool(
        recording.times.size >= 2
        and recording.times[0] == 0.0
        and np.all(np.diff(recording.times) > 0)
        and np.all(np.isfinite(recording.temperatures))
        and np.all((recording.temperatures >= -40.0) & (recording.temperatures <= 1350.0))
        and all(start < end for start, end in recording.gaps)
    )


def outcome(path: Path) -> dict[str, object]:
    """What comes of a file: a series, or the code of a message."""
    begin = time.process_time()
    try:
        recording = read_recording(path, timezone="Europe/Lisbon")
        found = "series" if sane(recording) else "insane"
    except RecordingError as error:
        found = f"message {error.code}"
    return {"file": path.name, "found": found, "seconds": time.process_time() - begin}


def damaged_file(seed: int) -> tuple[str, bytes]:
    """The name and the bytes of one damaged file."""
    rng = np.random.default_rng(seed)
    shapes = list(SHAPES.items())
    name, shape = shapes[int(rng.integers(len(shapes)))]
    series: Series = a_firing(float(rng.choice([30.0, 60.0, 300.0])), float(rng.uniform(1.0, 20.0)))
    damage = DAMAGES[int(rng.integers(len(DAMAGES)))]
    suffix = "xlsx" if shape.workbook else "csv"
    return f"{seed} {name} {damage.__name__}.{suffix}", damage(write(series, shape), rng)


def main(folder: str) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    for path in sorted(Path(folder).iterdir()):
        sys.stdout.write(json.dumps(outcome(path)) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
