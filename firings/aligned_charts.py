"""Several firings' courses in one drawing, from one common moment on.

What was recorded is solid, what is only planned dashed, as everywhere. Each line bears its firing's
number, near its end where there is room, so that no colour is needed to tell them apart; every
other line is thinner.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from schedules.axes import HOUR, Tick, path_data, round_step
from schedules.charts import (
    DESK,
    MOST_POINTS,
    PHONE,
    DrawnBand,
    DrawnPoint,
    Line,
    Paper,
    TemperatureBand,
)
from schedules.services.thinning import thinned
from studio.formats import DEGREE, MINUS, duration, number
from studio.services.units import from_celsius, to_celsius

ABOUT_THE_TOP = 60.0
"""°C below the lowest of the tops that are drawn closer: nearly all heat work is done there."""
MARGIN = 600.0
"""s to both sides of what is drawn closer."""
APART = {"desk": 22.0, "phone": 25.0}
"""Between the middles of two numbers, in the units of a drawing."""
PLACES_FOR_A_NUMBER = 400
STEPS = [60.0 * minutes for minutes in (5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440, 2880)]


@dataclass(frozen=True)
class Course:
    """A firing's course: s from the moment at which all are laid upon each other, °C.

    `readings` were noted by hand, beside a course that is only planned.
    """

    number: int
    line: Line
    is_recorded: bool
    readings: Line | None = None


def is_thin(number: int) -> bool:
    """Every other line is, so that two beside each other differ."""
    return number % 2 == 0


@dataclass(frozen=True)
class DrawnCourse:
    number: int
    path: str
    is_recorded: bool
    readings: tuple[DrawnPoint, ...]
    tag: DrawnPoint | None

    @property
    def is_thin(self) -> bool:
        return is_thin(self.number)


@dataclass(frozen=True)
class AlignedDrawing:
    """One drawing: everything in its own pixel space of `width` × `height`."""

    name: str
    width: int
    height: int
    left: float
    right: float
    top: float
    bottom: float
    courses: tuple[DrawnCourse, ...]
    time_ticks: tuple[Tick, ...]
    temperature_ticks: tuple[Tick, ...]
    bands: tuple[DrawnBand, ...]

    @property
    def plot_width(self) -> float:
        return self.right - self.left

    @property
    def plot_height(self) -> float:
        return self.bottom - self.top

    @property
    def tag_radius(self) -> float:
        return APART[self.name] / 2 - 1

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
class _Window:
    """What is drawn: s from the common moment, and temperatures in the reader's unit."""

    since: float
    until: float
    low: float
    high: float


def whole_drawings(
    courses: Sequence[Course], *, unit: str, bands: Sequence[TemperatureBand] = ()
) -> tuple[AlignedDrawing, ...]:
    """The courses from end to end, for a desk and for a phone; empty when there are none."""
    lines = [course.line for course in courses if course.line.times.size]
    if not lines:
        return ()
    highest = max(float(np.nanmax(line.temperatures)) for line in lines)
    window = _Window(
        since=min(float(line.times[0]) for line in lines),
        until=max(float(line.times[-1]) for line in lines),
        low=0.0,
        high=float(from_celsius(highest, unit)) * 1.06,
    )
    return tuple(_draw(paper, courses, unit, window, bands) for paper in (DESK, PHONE))


def top_drawings(
    courses: Sequence[Course], tops: Sequence[float], *, unit: str
) -> tuple[AlignedDrawing, ...]:
    """The same about their tops, where firings of one schedule differ; `tops` in °C, one each."""
    floor_c = min(tops, default=0.0) - ABOUT_THE_TOP
    hot = [times for course in courses if (times := _times_above(course.line, floor_c)).size]
    if not hot:
        return ()
    low = float(from_celsius(floor_c, unit))
    highest = max(float(np.nanmax(course.line.temperatures)) for course in courses)
    high = float(from_celsius(highest, unit))
    window = _Window(
        since=min(float(times[0]) for times in hot) - MARGIN,
        until=max(float(times[-1]) for times in hot) + MARGIN,
        low=low,
        high=high + 0.08 * (high - low),
    )
    return tuple(_draw(paper, courses, unit, window, ()) for paper in (DESK, PHONE))


def _times_above(line: Line, celsius: float) -> NDArray[np.float64]:
    """s at which a line lies above a temperature, at its own points and where it crosses it."""
    known = np.isfinite(line.temperatures)
    times, shown = line.times[known], line.temperatures[known]
    above = np.flatnonzero(shown > celsius)
    if not above.size:
        return np.empty(0)
    first, last = int(above[0]), int(above[-1])
    edges = [times[first], times[last]]
    if first:
        edges[0] = np.interp(celsius, shown[first - 1 : first + 1], times[first - 1 : first + 1])
    if last + 1 < times.size:
        edges[1] = np.interp(-celsius, -shown[last : last + 2], times[last : last + 2])
    return np.array(edges)


def _draw(
    paper: Paper,
    courses: Sequence[Course],
    unit: str,
    window: _Window,
    bands: Sequence[TemperatureBand],
) -> AlignedDrawing:
    left, top = paper.margins[0], paper.margins[1]
    right, bottom = paper.width - paper.margins[2], paper.height - paper.margins[3]
    span, reach = (window.until - window.since) or HOUR, window.high - window.low

    def x_of(seconds: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return left + (right - left) * (np.asarray(seconds) - window.since) / span

    def y_of(celsius: NDArray[np.float64] | float) -> NDArray[np.float64]:
        shown = np.asarray(from_celsius(np.asarray(celsius, dtype=np.float64), unit))
        return bottom - (bottom - top) * (shown - window.low) / reach

    def points_of(line: Line | None) -> tuple[DrawnPoint, ...]:
        if line is None:
            return ()
        pairs = zip(x_of(line.times), y_of(line.temperatures), strict=True)
        return tuple(DrawnPoint(round(float(x), 1), round(float(y), 1)) for x, y in pairs)

    room = _Room(left, right, top, bottom, APART[paper.name])
    drawn = []
    for course in courses:
        line = _within(course.line, window.since, window.until)
        times, temperatures = thinned(line.times, line.temperatures, MOST_POINTS)
        drawn.append(
            DrawnCourse(
                number=course.number,
                path=path_data(x_of(times), y_of(temperatures)),
                is_recorded=course.is_recorded,
                readings=points_of(course.readings),
                tag=room.place(x_of(line.times), y_of(line.temperatures)),
            )
        )
    low_c = float(to_celsius(window.low, unit))
    high_c = float(to_celsius(window.high, unit))
    return AlignedDrawing(
        name=paper.name,
        width=paper.width,
        height=paper.height,
        left=left,
        right=right,
        top=top,
        bottom=bottom,
        courses=tuple(drawn),
        time_ticks=tuple(
            Tick(round(float(x_of(seconds)), 1), label)
            for seconds, label in _time_ticks(window.since, window.until, paper.most_time_ticks)
        ),
        temperature_ticks=tuple(
            Tick(round(float(y_of(float(to_celsius(value, unit)))), 1), label)
            for value, label in _temperature_ticks(window, paper.temperature_ticks, unit)
        ),
        bands=tuple(
            DrawnBand(
                kind=band.kind,
                label=band.label,
                top=round(float(y_of(min(band.high, high_c))), 1),
                height=round(float(y_of(max(band.low, low_c)) - y_of(min(band.high, high_c))), 1),
                label_at=round(float(y_of(max(band.low, low_c))) - 5, 1),
            )
            for band in bands
            if band.low < high_c and band.high > low_c
        ),
    )


class _Room:
    """Where numbers stand in a drawing: each on its own line, apart from all others."""

    def __init__(self, left: float, right: float, top: float, bottom: float, apart: float) -> None:
        half = apart / 2
        self.edges = (left + half, right, top + half, bottom - half)
        self.apart = apart
        self.taken: list[tuple[float, float]] = []

    def place(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> DrawnPoint | None:
        """The last free place on a line; its last place at all where none is free."""
        inside = list(self._inside(x, y))
        if not inside:
            return None
        free = (spot for spot in inside if self._is_free(*spot))
        spot = next(free, inside[0])
        self.taken.append(spot)
        return DrawnPoint(round(spot[0], 1), round(spot[1], 1))

    def _inside(
        self, x: NDArray[np.float64], y: NDArray[np.float64]
    ) -> Iterator[tuple[float, float]]:
        """Places along a line from its end on, evenly far from each other."""
        known = np.isfinite(y)
        xs, ys = x[known], y[known]
        if not xs.size:
            return
        along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(xs), np.diff(ys)))])
        places = np.linspace(along[-1], 0.0, PLACES_FOR_A_NUMBER)
        left, right, top, bottom = self.edges
        for px, py in zip(np.interp(places, along, xs), np.interp(places, along, ys), strict=True):
            if left <= px <= right and top <= py <= bottom:
                yield float(px), float(py)

    def _is_free(self, x: float, y: float) -> bool:
        return all(np.hypot(x - px, y - py) >= self.apart for px, py in self.taken)


def _within(line: Line, since: float, until: float) -> Line:
    """The part of a line from one moment to another, with its points at both."""
    times, shown = line.times, line.temperatures
    edges = np.array([at for at in (since, until) if times.size and times[0] < at < times[-1]])
    inside = (times >= since) & (times <= until)
    all_times = np.concatenate([times[inside], edges])
    all_shown = np.concatenate([shown[inside], np.interp(edges, times, shown)])
    order = np.argsort(all_times, kind="stable")
    return Line(all_times[order], all_shown[order])


def _time_ticks(since: float, until: float, most: int) -> Iterator[tuple[float, str]]:
    """Hours or minutes before and after the common moment."""
    step = next((each for each in STEPS if (until - since) / each <= most), 345600.0)
    for count in range(ceil(since / step), floor(until / step) + 1):
        seconds = count * step
        if not count:
            yield seconds, "0"
        elif step < HOUR:
            yield seconds, duration(seconds)
        else:
            yield seconds, f"{MINUS if count < 0 else ''}{number(abs(seconds) / HOUR)} h"


def _temperature_ticks(window: _Window, count: int, unit: str) -> Iterator[tuple[float, str]]:
    step = round_step((window.high - window.low) / count)
    values = np.arange(ceil(window.low / step) * step, window.high, step).tolist()
    for index, value in enumerate(values):
        sign = f" {DEGREE[unit]}" if index == 0 else ""
        yield value, f"{number(value)}{sign}"
