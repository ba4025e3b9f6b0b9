"""Damaged files give a series or a message, in bounded time and memory, and nothing else.

Sixty and a few huge ones by default, 500 and all the huge ones with `--long`. They are read in a
process of their own whose whole address space is limited to 1 GB.
"""

import json
import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest

from firings.services.recording import RecordingError, read_recording
from tests.firings.recordings.damaging import HUGE, LONGEST, damaged_file

SHORT, LONG = 60, 500
QUICK_TO_MAKE = {
    "100 MB in one line.csv",
    "bomb of zeros.xlsx",
    "bomb of cells.xlsx",
    "bomb in another encoding.xlsx",
    "zip of something else.xlsx",
    "rows far down.xlsx",
    "empty.csv",
    "empty.xlsx",
}


def outcomes(folder: Path) -> list[dict[str, str | float]]:
    """What comes of the files of a folder, read under the limit."""
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-W", "error", "-m", "tests.firings.recordings.damaging", str(folder)],
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1"},  # each thread reserves address space
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, f"{done.stdout[-500:]}\n{done.stderr[-3000:]}"
    return [json.loads(line) for line in done.stdout.splitlines()]


def read_damaged(folder: Path, first: int, count: int) -> list[dict[str, str | float]]:
    for seed in range(first, first + count):
        name, data = damaged_file(seed)
        (folder / name.replace("/", " ")).write_bytes(data)
    return outcomes(folder)


def check(found: list[dict[str, str | float]], count: int) -> None:
    assert len(found) == count
    assert [each for each in found if each["found"] == "insane"] == []
    assert max(float(each["seconds"]) for each in found) < LONGEST


def test_damaged_files_give_a_series_or_a_message(tmp_path: Path) -> None:
    found = read_damaged(tmp_path, 0, SHORT)
    check(found, SHORT)
    kinds = {str(each["found"]).split()[0] for each in found}
    assert kinds == {"series", "message"}  # neither is rare enough to be missing


@pytest.mark.slow
def test_many_damaged_files_give_a_series_or_a_message(tmp_path: Path) -> None:
    check(read_damaged(tmp_path, SHORT, LONG), LONG)


def check_huge(folder: Path, names: set[str]) -> None:
    for name in names:
        (folder / name).write_bytes(HUGE[name]())
    found = outcomes(folder)
    check(found, len(names))
    assert [each for each in found if not str(each["found"]).startswith("message")] == []


def test_huge_files_give_a_message_quickly(tmp_path: Path) -> None:
    check_huge(tmp_path, QUICK_TO_MAKE)


@pytest.mark.slow
def test_more_huge_files_give_a_message_quickly(tmp_path: Path) -> None:
    check_huge(tmp_path, set(HUGE) - QUICK_TO_MAKE)


@pytest.mark.slow
def test_month_at_a_reading_a_second_is_read_within_the_same_bounds(tmp_path: Path) -> None:
    cells = [
        f"{at:02}:{minute:02}:{second:02}"
        for at in range(24)
        for minute in range(60)
        for second in range(60)
    ]
    lines = [
        f"2026-03-{day:02} {cell},{400 + second % 97 / 10} °C"
        for day in range(1, 32)
        for second, cell in enumerate(cells)
    ]
    (tmp_path / "month.csv").write_text("time,chamber\n" + "\n".join(lines))
    [found] = outcomes(tmp_path)
    assert found["found"] == "series"
    assert float(found["seconds"]) < LONGEST


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "old_workbook"),
        (b"%PDF-1.7\n", "not_a_table"),
        (b"\x89PNG\r\n\x1a\n", "not_a_table"),
        (bytes(range(32)) * 40, "not_a_table"),
        (b"PK\x03\x04 and no more", "workbook_damaged"),
        (b"only words here\nand here\n", "time_not_found"),
        (b"hello\n", "columns_not_found"),
        (b"time,chamber\n", "time_not_found"),
        (b"time;C\n2026-03-12 17:40:05;OPEN\n2026-03-12 17:40:35;20\n", "too_few_readings"),
        (b"s,C\n0,OPEN\n30,OPEN\n60,OPEN\n", "temperature_not_found"),
    ],
)
def test_message_says_what_is_wrong(data: bytes, code: str) -> None:
    with pytest.raises(RecordingError) as caught:
        read_recording(BytesIO(data))
    assert caught.value.code == code
