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

Floats = NDArray[np.float64]

ABOUT_THE_TOP = 60.0
"""°C below the lowest of the tops that are drawn closer: nearly all heat work is done there."""
MARGIN = 0.06
"""Of what is drawn closer, left free at both sides."""
APART = {"desk": 22.0, "phone": 25.0}
"""Between the middles of two numbers, in the units of a drawing."""
PLACES_FOR_A_NUMBER = 160
CROWDED = 4.0
"""How much more it counts that two numbers touch than that a line runs by itself."""
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
    since = min(float(times[0]) for times in hot)
    until = max(float(times[-1]) for times in hot)
    window = _Window(
        since=since - MARGIN * (until - since),
        until=until + MARGIN * (until - since),
        low=low,
        high=high + 0.08 * (high - low),
    )
    return tuple(_draw(paper, courses, unit, window, ()) for paper in (DESK, PHONE))


def _times_above(line: Line, celsius: float) -> Floats:
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

    def x_of(seconds: Floats | float) -> Floats:
        return left + (right - left) * (np.asarray(seconds) - window.since) / span

    def y_of(celsius: Floats | float) -> Floats:
        shown = np.asarray(from_celsius(np.asarray(celsius, dtype=np.float64), unit))
        return bottom - (bottom - top) * (shown - window.low) / reach

    def points_of(line: Line | None) -> tuple[DrawnPoint, ...]:
        if line is None:
            return ()
        pairs = zip(x_of(line.times), y_of(line.temperatures), strict=True)
        return tuple(DrawnPoint(round(float(x), 1), round(float(y), 1)) for x, y in pairs)

    shown = [_within(course.line, window.since, window.until) for course in courses]
    few = [Line(*thinned(line.times, line.temperatures, MOST_POINTS)) for line in shown]
    paths = [np.column_stack([x_of(line.times), y_of(line.temperatures)]) for line in few]
    apart = APART[paper.name]
    inside = (left + apart / 2, right, top + apart / 2, bottom - apart / 2)
    places = _Places(paths, inside, apart)
    drawn = tuple(
        DrawnCourse(
            number=course.number,
            path=path_data(*path.T),
            is_recorded=course.is_recorded,
            readings=points_of(course.readings),
            tag=places.place(index),
        )
        for index, (course, path) in enumerate(zip(courses, paths, strict=True))
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
        courses=drawn,
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


class _Places:
    """Where the numbers stand in a drawing: each on its own line, apart from all others.

    Where a line runs by itself its number stands there; where lines run together, near its end.
    """

    def __init__(
        self, paths: Sequence[Floats], inside: tuple[float, float, float, float], apart: float
    ) -> None:
        left, right, top, bottom = inside
        self.apart = apart
        self.lines = [
            line[(line[:, 0] >= left) & (line[:, 0] <= right) & (line[:, 1] >= top)
                 & (line[:, 1] <= bottom)]
            for line in map(_evenly, paths)
        ]  # fmt: skip
        self.taken: list[Floats] = []

    def place(self, index: int) -> DrawnPoint | None:
        own = self.lines[index]
        if not len(own):
            return None
        others = [line for at, line in enumerate(self.lines) if at != index and len(line)]
        alone = np.minimum(_distance(own, np.concatenate(others)), self.apart) if others else 0.0
        crowded = np.zeros(len(own))
        if self.taken:
            crowded = np.minimum(_distance(own, np.array(self.taken)) - self.apart, 0.0)
        # The first of the best: places begin at the line's end.
        spot = own[int(np.argmax(np.round(alone + CROWDED * crowded)))]
        self.taken.append(spot)
        return DrawnPoint(round(float(spot[0]), 1), round(float(spot[1]), 1))


def _evenly(path: Floats) -> Floats:
    """Points along a path from its end on, evenly far from each other, shape (n, 2)."""
    known = path[np.isfinite(path[:, 1])]
    if len(known) < 2:
        return known
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(known, axis=0).T))])
    places = np.linspace(along[-1], 0.0, PLACES_FOR_A_NUMBER)
    return np.column_stack([np.interp(places, along, part) for part in known.T])


def _distance(points: Floats, others: Floats) -> Floats:
    """From each point to the nearest of others."""
    apart = points[:, None, :] - others[None, :, :]
    return np.asarray(np.hypot(apart[..., 0], apart[..., 1]).min(axis=1))


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
    for value in np.arange(ceil(window.low / step) * step, window.high, step).tolist():
        yield value, number(value) if value else f"0 {DEGREE[unit]}"
