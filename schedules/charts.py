"""Core results in, drawings out: an `SvgCurve` for a template, once for a desk, once for a phone.

`schedules.figures` makes a plotly figure of the same data, on demand.

Planned is always dashed, recorded solid, the annealing range a pale band. A drawing holds only
numbers and labels that are ready to be written; the template adds the marks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from schedules.axes import HOUR, Tick, path_data, round_step, time_ticks
from schedules.services.curve import Curve
from schedules.services.thinning import thinned
from studio.formats import DEGREE, number
from studio.services.units import from_celsius

MOST_POINTS = 400
COOLING_POINTS = 60


@dataclass(frozen=True)
class Line:
    """A temperature over time: seconds from the start, °C."""

    times: NDArray[np.float64]
    temperatures: NDArray[np.float64]


def planned_line(curve: Curve, cooled_to: float | None = None) -> Line:
    """A planned curve, with its free cooling down to `cooled_to` (°C) where it comes to that."""
    times, temperatures = curve.times, curve.temperatures
    cool = None if cooled_to is None else curve.cool_to(cooled_to)
    if cool is None or curve.duration is None or cool <= curve.duration:
        return Line(times, temperatures)
    cooling = np.linspace(curve.duration, cool, COOLING_POINTS + 1)[1:]
    return Line(np.concatenate([times, cooling]), np.concatenate([temperatures, curve.at(cooling)]))


@dataclass(frozen=True)
class TemperatureBand:
    """A named range of temperatures, °C: kind "anneal" or "process"."""

    kind: str
    label: str
    low: float
    high: float


@dataclass(frozen=True)
class Moment:
    """Something that happened: s from the start, the temperature then in °C, and its words."""

    at: float
    temperature: float
    words: str


@dataclass(frozen=True)
class DrawnBand:
    kind: str
    label: str
    top: float
    height: float
    label_at: float


@dataclass(frozen=True)
class DrawnPoint:
    x: float
    y: float
    words: str = ""


@dataclass(frozen=True)
class SvgCurve:
    """One drawing: everything in its own pixel space of `width` × `height`."""

    name: str
    width: int
    height: int
    left: float
    right: float
    top: float
    bottom: float
    planned: str
    earlier: str
    recorded: str
    readings: tuple[DrawnPoint, ...]
    moments: tuple[DrawnPoint, ...]
    time_ticks: tuple[Tick, ...]
    temperature_ticks: tuple[Tick, ...]
    bands: tuple[DrawnBand, ...]
    unit: str

    @property
    def plot_width(self) -> float:
        return self.right - self.left

    @property
    def tick_right(self) -> float:
        return self.left - 7

    @property
    def tick_below(self) -> float:
        return self.bottom + 21

    @property
    def label_right(self) -> float:
        return self.right - 6


@dataclass(frozen=True)
class Paper:
    name: str
    width: int
    height: int
    margins: tuple[float, float, float, float]  # left, top, right, bottom
    most_time_ticks: int
    temperature_ticks: int


DESK = Paper("desk", 760, 340, (56, 14, 24, 34), 9, 5)
PHONE = Paper("phone", 360, 340, (46, 14, 22, 36), 5, 5)


def curve_drawings(
    *,
    unit: str,
    planned: Line | None = None,
    earlier: Line | None = None,
    recorded: Line | None = None,
    readings: Line | None = None,
    bands: Sequence[TemperatureBand] = (),
    moments: Sequence[Moment] = (),
    starts_at: datetime | None = None,
) -> tuple[SvgCurve, ...]:
    """The same chart for a desk and for a phone; empty when there is nothing to draw.

    `earlier` is another plan that is drawn thinner, beneath the one that counts.
    `starts_at` (in the studio's zone) turns the time axis into clock times, else it shows hours.
    """
    given = (planned, earlier, recorded, readings)
    lines = [line for line in given if line is not None and line.times.size]
    if not lines:
        return ()
    return tuple(
        _draw(paper, lines, unit, planned, earlier, recorded, readings, bands, moments, starts_at)
        for paper in (DESK, PHONE)
    )


def _draw(
    paper: Paper,
    lines: Sequence[Line],
    unit: str,
    planned: Line | None,
    earlier: Line | None,
    recorded: Line | None,
    readings: Line | None,
    bands: Sequence[TemperatureBand],
    moments: Sequence[Moment],
    starts_at: datetime | None,
) -> SvgCurve:
    left, top = paper.margins[0], paper.margins[1]
    right, bottom = paper.width - paper.margins[2], paper.height - paper.margins[3]
    last = max(float(np.nanmax(line.times)) for line in lines) or HOUR
    highest = max(float(np.nanmax(line.temperatures)) for line in lines)
    shown_highest = float(from_celsius(highest, unit)) * 1.06
    tick_step = round_step(shown_highest / paper.temperature_ticks)

    def x_of(seconds: NDArray[np.float64]) -> NDArray[np.float64]:
        return left + (right - left) * np.asarray(seconds) / last

    def y_of(celsius: NDArray[np.float64] | float) -> NDArray[np.float64]:
        shown = np.asarray(from_celsius(np.asarray(celsius, dtype=np.float64), unit))
        return bottom - (bottom - top) * np.clip(shown, 0, shown_highest) / shown_highest

    def path_of(line: Line | None) -> str:
        if line is None or not line.times.size:
            return ""
        times, temperatures = thinned(line.times, line.temperatures, MOST_POINTS)
        return path_data(x_of(times), y_of(temperatures))

    points: tuple[DrawnPoint, ...] = ()
    if readings is not None and readings.times.size:
        points = tuple(
            DrawnPoint(round(float(x), 1), round(float(y), 1))
            for x, y in zip(x_of(readings.times), y_of(readings.temperatures), strict=True)
        )
    return SvgCurve(
        name=paper.name,
        width=paper.width,
        height=paper.height,
        left=left,
        right=right,
        top=top,
        bottom=bottom,
        planned=path_of(planned),
        earlier=path_of(earlier),
        recorded=path_of(recorded),
        readings=points,
        moments=tuple(
            DrawnPoint(
                round(float(x_of(np.array(each.at))), 1),
                round(float(y_of(each.temperature)), 1),
                each.words,
            )
            for each in moments
            if 0 <= each.at <= last
        ),
        time_ticks=time_ticks(last, left, right, paper.most_time_ticks, starts_at),
        temperature_ticks=tuple(
            Tick(
                round(bottom - (bottom - top) * value / shown_highest, 1),
                f"{number(value)}" if value else f"0 {DEGREE[unit]}",
            )
            for value in np.arange(0.0, shown_highest, tick_step)
        ),
        bands=tuple(
            DrawnBand(
                kind=band.kind,
                label=band.label,
                top=round(float(y_of(band.high)), 1),
                height=round(float(y_of(band.low) - y_of(band.high)), 1),
                label_at=round(float(y_of(band.low)) - 5, 1),
            )
            for band in bands
            if band.low < highest
        ),
        unit=unit,
    )
