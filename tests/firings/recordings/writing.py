"""Writes a series as a data logger might: every choice of it is a field of `FileShape`."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ZONE = ZoneInfo("Europe/Lisbon")
START = dt.datetime(2026, 3, 12, 17, 40, 5)


@dataclass(frozen=True)
class Series:
    """What was measured: s from the start, °C, and when it started by the local clock."""

    times: Floats
    temperatures: Floats
    start: dt.datetime = START

    def moments(self) -> list[dt.datetime]:
        """By the local clock, which may change meanwhile."""
        utc = self.start.replace(tzinfo=ZONE).astimezone(dt.UTC)
        return [
            (utc + dt.timedelta(seconds=float(at))).astimezone(ZONE).replace(tzinfo=None)
            for at in self.times
        ]


def a_firing(step: float = 60.0, hours: float = 10.0, seed: int = 5) -> Series:
    """From a room to 804 °C and down again, with noise of half a degree."""
    times = np.arange(0.0, hours * 3600.0, step)
    corners = [0.0, 0.3, 0.5, 0.55, 1.0]
    shape = np.interp(times / times[-1], corners, [21.0, 540.0, 804.0, 804.0, 180.0])
    noise = np.random.default_rng(seed).normal(0.0, 0.5, times.size)
    return Series(times, np.round(shape + noise, 1))


@dataclass(frozen=True)
class FileShape:
    """How to write it.

    `time` is one of `TIMES`; `date` one of `DATES`, with "none" for times without a day. `unit_at`
    is "name", "cells", "column", "notes" or "nowhere".
    """

    time: str = "moment"
    date: str = "iso"
    clock: str = "24 h"
    columns: int = 1
    delimiter: str = ";"
    decimal: str = "."
    places: int = 1
    unit: str = "C"
    unit_at: str = "name"
    names: bool = True
    notes: Sequence[str] = ()
    index: bool = False
    others: bool = False
    newest_first: bool = False
    encoding: str = "utf-8"
    line_end: str = "\n"
    quoted: bool = False
    blank_lines: bool = False
    workbook: bool = False


DATES = {
    "iso": "%Y-%m-%d",
    "iso T": "%Y-%m-%dT",
    "slashed iso": "%Y/%m/%d",
    "compact": "%Y%m%d",
    "dotted": "%d.%m.%Y",
    "short dotted": "%d.%m.%y",
    "day first": "%d/%m/%Y",
    "month first": "%m/%d/%Y",
    "short month first": "%m/%d/%y",
    "named": "%d %b %Y",
    "american named": "%b %d, %Y",
}
CLOCKS = {"24 h": "%H:%M:%S", "12 h": "%I:%M:%S %p", "no colons": "%H%M%S"}
TIMES = (
    "moment",
    "utc",
    "offset",
    "clock",
    "epoch s",
    "epoch ms",
    "serial days",
    "elapsed s",
    "elapsed min",
    "elapsed h",
    "elapsed h:mm:ss",
)
_ELAPSED = {"elapsed s": (1.0, 1), "elapsed min": (60.0, 4), "elapsed h": (3600.0, 6)}
_NAMES = {
    "moment": ["Date and time"],
    "utc": ["Time"],
    "offset": ["Time"],
    "clock": ["Time"],
    "epoch s": ["timestamp"],
    "epoch ms": ["timestamp"],
    "serial days": ["Date"],
    "elapsed s": ["Elapsed (s)"],
    "elapsed min": ["Elapsed (min)"],
    "elapsed h": ["Elapsed (h)"],
    "elapsed h:mm:ss": ["Elapsed"],
}


def write(series: Series, shape: FileShape) -> bytes:
    """The file."""
    rows = _rows(series, shape)
    if shape.newest_first:
        rows.reverse()
    names = [_names(shape)] if shape.names else []
    if shape.workbook:
        return workbook([[note] for note in shape.notes] + names + rows)
    lines = [*shape.notes, *(_line(cells, shape) for cells in names + rows)]
    if shape.blank_lines:
        lines = [each for line in lines for each in (line, "")]
    return (shape.line_end.join(lines) + shape.line_end).encode(shape.encoding)


def workbook(rows: Sequence[Sequence[object]], title: str = "readings") -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    held = BytesIO()
    book.save(held)
    return held.getvalue()


def _line(cells: Sequence[object], shape: FileShape) -> str:
    texts = [str(cell) for cell in cells]
    return shape.delimiter.join(
        f'"{text}"' if shape.quoted or shape.delimiter in text else text for text in texts
    )


def _names(shape: FileShape) -> list[object]:
    unit = f" °{shape.unit}" if shape.unit_at == "name" else ""
    time = ["Date", "Time"] if shape.columns == 2 else _NAMES[shape.time]
    names: list[object] = ["No."] if shape.index else []
    names += time
    names += [f"Setpoint{unit}"] if shape.others else []
    names += [f"Chamber{unit}"]
    names += ["Unit"] if shape.unit_at == "column" else []
    names += [f"Room{unit}", "Output %"] if shape.others else []
    return names


def _rows(series: Series, shape: FileShape) -> list[list[object]]:
    moments = series.moments()
    shown = series.temperatures if shape.unit == "C" else series.temperatures * 1.8 + 32.0
    rows = []
    for place, (at, moment, value) in enumerate(zip(series.times, moments, shown, strict=True)):
        row: list[object] = [place + 1] if shape.index else []
        row += _time(float(at), moment, shape)
        row += [_number(round(float(value), -1) + 10.0, 1, shape)] if shape.others else []
        row += [_temperature(float(value), shape)]
        row += [f"°{shape.unit}"] if shape.unit_at == "column" else []
        if shape.others:
            room = 20.0 if shape.unit == "C" else 68.0
            row += [_number(room + place % 3, 1, shape), place % 101]
        rows.append(row)
    return rows


def _temperature(value: float, shape: FileShape) -> object:
    number = _number(value, shape.places, shape)
    return f"{number} °{shape.unit}" if shape.unit_at == "cells" else number


def _number(value: float, places: int, shape: FileShape) -> object:
    if shape.workbook and shape.unit_at != "cells":
        return round(value, places)
    return f"{value:.{places}f}".replace(".", shape.decimal)


def _time(at: float, moment: dt.datetime, shape: FileShape) -> list[object]:
    aware = moment.replace(tzinfo=ZONE)
    if shape.time in _ELAPSED:
        unit, places = _ELAPSED[shape.time]
        return [_number(at / unit, places, shape)]
    if shape.time == "elapsed h:mm:ss":
        whole = round(at)
        if shape.workbook:
            return [dt.timedelta(seconds=whole)]
        return [f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"]
    if shape.time.startswith("epoch"):
        scale = 1 if shape.time == "epoch s" else 1000
        return [round(aware.timestamp() * scale)]
    if shape.time == "serial days":
        days = (moment - dt.datetime(1899, 12, 30)) / dt.timedelta(days=1)
        return [_number(days, 8, shape)]
    if shape.time == "utc":
        return [aware.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")]
    if shape.time == "offset":
        return [aware.isoformat(timespec="seconds")]
    if shape.workbook and shape.time == "moment" and shape.columns == 1:
        return [moment]
    clock = moment.strftime(CLOCKS[shape.clock])
    if shape.time == "clock":
        return [moment.time() if shape.workbook else clock]
    date = moment.strftime(DATES[shape.date])
    if shape.columns == 2:
        return [date.removesuffix("T"), clock]
    return [date + clock if date.endswith("T") else f"{date} {clock}"]
