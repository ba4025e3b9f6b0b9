"""One firing in many shapes of file: each must give the same series.

The files are made by our own code; workbooks by openpyxl.
"""

import datetime as dt
from io import BytesIO

import numpy as np
import pytest

from firings.services.recording import read_recording
from tests.firings.recordings.writing import START, ZONE, FileShape, a_firing, write

SHAPES = {
    "ISO, semicolon": FileShape(),
    "ISO, comma": FileShape(delimiter=","),
    "ISO, tab": FileShape(delimiter="\t"),
    "ISO, bar": FileShape(delimiter="|"),
    "ISO, white space, two columns": FileShape(delimiter="  ", columns=2, names=False),
    "ISO with T": FileShape(date="iso T", delimiter=","),
    "ISO with Z": FileShape(time="utc", delimiter=","),
    "ISO with an offset": FileShape(time="offset", delimiter=","),
    "year first with slashes": FileShape(date="slashed iso"),
    "compact ISO": FileShape(date="compact", clock="no colons", delimiter=","),
    "European": FileShape(date="dotted", decimal=","),
    "European, two columns": FileShape(date="dotted", columns=2, decimal=","),
    "European, short year": FileShape(date="short dotted", decimal=","),
    "European, slashes": FileShape(date="day first", delimiter="\t"),
    "European, comma twice, quoted": FileShape(
        date="dotted", delimiter=",", decimal=",", quoted=True
    ),
    "US, 12 h": FileShape(date="month first", clock="12 h", delimiter=",", unit="F"),
    "US, 12 h, two columns": FileShape(
        date="month first", clock="12 h", columns=2, delimiter=",", unit="F"
    ),
    "US, short year": FileShape(date="short month first", clock="12 h", delimiter=",", unit="F"),
    "day and month by name": FileShape(date="named"),
    "month by name first": FileShape(date="american named", clock="12 h", delimiter="\t"),
    "time of day": FileShape(time="clock", delimiter=","),
    "time of day, 12 h": FileShape(time="clock", clock="12 h", delimiter=","),
    "Unix epoch": FileShape(time="epoch s", delimiter=","),
    "Unix epoch, ms, without names": FileShape(time="epoch ms", delimiter=",", names=False),
    "days of a spreadsheet": FileShape(time="serial days", delimiter=";", decimal=","),
    "elapsed s": FileShape(time="elapsed s", delimiter=","),
    "elapsed s, without names": FileShape(time="elapsed s", delimiter=",", names=False),
    "elapsed min, decimal comma": FileShape(time="elapsed min", decimal=","),
    "elapsed min, without names": FileShape(time="elapsed min", names=False),
    "elapsed h": FileShape(time="elapsed h", delimiter="\t"),
    "elapsed h:mm:ss": FileShape(time="elapsed h:mm:ss", delimiter=","),
    "°F in the cells": FileShape(unit="F", unit_at="cells", delimiter=","),
    "°C in the cells, decimal comma": FileShape(unit_at="cells", decimal=","),
    "°F in a column of its own": FileShape(unit="F", unit_at="column", delimiter=","),
    "°F in the lines above": FileShape(
        unit="F", unit_at="notes", notes=["# logger 2", "# unit: °F"], delimiter=","
    ),
    "°F nowhere": FileShape(unit="F", unit_at="nowhere", delimiter=","),
    "°C nowhere, no names": FileShape(unit_at="nowhere", names=False, delimiter=","),
    "lines above": FileShape(
        notes=["Logger 2, east kiln", "", "Readings every 60 s", "# by hand: none"], delimiter=","
    ),
    "several channels": FileShape(others=True, delimiter=","),
    "several channels, numbered": FileShape(others=True, index=True, decimal=","),
    "newest first": FileShape(newest_first=True),
    "UTF-8 with mark": FileShape(encoding="utf-8-sig"),
    "UTF-16 with mark": FileShape(encoding="utf-16"),
    "UTF-16 LE without mark": FileShape(encoding="utf-16-le", delimiter="\t"),
    "UTF-16 BE without mark": FileShape(encoding="utf-16-be", delimiter=","),
    "UTF-32": FileShape(encoding="utf-32"),
    "Latin-1": FileShape(encoding="latin-1"),
    "Windows line ends": FileShape(line_end="\r\n"),
    "old Macintosh line ends": FileShape(line_end="\r"),
    "blank lines between": FileShape(blank_lines=True),
    "all quoted": FileShape(quoted=True, delimiter=","),
    "thousandths": FileShape(places=3, decimal=","),
    "whole degrees": FileShape(places=0, delimiter=","),
    "workbook": FileShape(workbook=True),
    "workbook, two columns of text": FileShape(workbook=True, date="dotted", columns=2),
    "workbook, time of day": FileShape(workbook=True, time="clock"),
    "workbook, lengths of time": FileShape(workbook=True, time="elapsed h:mm:ss"),
    "workbook, °F in the cells": FileShape(workbook=True, unit="F", unit_at="cells"),
    "workbook, lines above, channels": FileShape(workbook=True, others=True, notes=["Logger 2"]),
}
NO_DAY = {"clock", "elapsed s", "elapsed min", "elapsed h", "elapsed h:mm:ss"}
FIRING = a_firing()


@pytest.mark.parametrize("name", SHAPES)
def test_each_shape_gives_the_series(name: str) -> None:
    shape = SHAPES[name]
    seen = read_recording(BytesIO(write(FIRING, shape)), timezone=ZONE)
    assert seen.times == pytest.approx(FIRING.times, abs=0.01)
    rounding = 0.5 * 10.0**-shape.places + 1e-9
    assert np.abs(seen.temperatures - FIRING.temperatures).max() <= rounding
    assert seen.gaps == ()
    if shape.time in NO_DAY:
        assert seen.started_at is None
        assert "no_date" in {remark.code for remark in seen.remarks}
    else:
        assert seen.started_at == START.replace(tzinfo=ZONE)


def test_there_are_enough_shapes() -> None:
    assert len(SHAPES) >= 30
    assert len({repr(shape) for shape in SHAPES.values()}) == len(SHAPES)


@pytest.mark.parametrize(
    ("shape", "code"),
    [
        (FileShape(unit_at="nowhere"), "unit_guessed"),
        (FileShape(time="elapsed min", names=False), "time_unit_guessed"),
        (FileShape(time="clock"), "no_date"),
        (FileShape(others=True), "channel_chosen"),
        (FileShape(newest_first=True), "newest_first"),
    ],
)
def test_each_guess_is_said(shape: FileShape, code: str) -> None:
    seen = read_recording(BytesIO(write(FIRING, shape)), timezone=ZONE)
    assert code in {remark.code for remark in seen.remarks}


def test_file_that_says_everything_leaves_nothing_to_guess() -> None:
    seen = read_recording(BytesIO(write(FIRING, FileShape())), timezone=ZONE)
    assert seen.remarks == ()


def test_chamber_is_chosen_and_the_others_are_named() -> None:
    seen = read_recording(BytesIO(write(FIRING, FileShape(others=True))), timezone=ZONE)
    [remark] = [each for each in seen.remarks if each.code == "channel_chosen"]
    assert remark.figures["name"] == "Chamber °C"
    assert remark.figures["others"] == "Setpoint °C, Room °C, Output %"


def test_path_is_as_good_as_a_file(tmp_path) -> None:
    path = tmp_path / "logger.csv"
    path.write_bytes(write(FIRING, FileShape()))
    seen = read_recording(path, timezone="Europe/Lisbon")
    assert seen.started_at == dt.datetime(2026, 3, 12, 17, 40, 5, tzinfo=dt.UTC)
    assert read_recording(str(path)).times.tolist() == seen.times.tolist()
