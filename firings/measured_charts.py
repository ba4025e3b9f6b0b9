"""A kiln's offset and the evenness of its shelf over the years, drawn on the server."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from firings.queries.measured import Epoch, MeasuredKiln, MeasurementLine
from schedules.axes import Tick, round_step
from studio import formats
from studio.queries.places import ShelfDrawing, SpotMark, shelf_drawing
from studio.services.units import from_celsius, rate_from_celsius

LEFT, RIGHT, INSET = 52.0, 348.0, 14.0
LANE, LANE_GAP, DATES_BELOW = 110.0, 42.0, 22.0
LABEL_ROOM = 26.0
LEAST_HALF_C = 5.0
"""°C to both sides of nothing that the lane of the offset shows at the least."""


@dataclass(frozen=True)
class SeriesDot:
    """One measurement: a line from `low` to `high` through it is its spread.

    `label`: the display at which it was taken, where there is room for it.
    """

    x: float
    y: float
    low: float
    high: float
    label: str
    is_current: bool


@dataclass(frozen=True)
class SeriesLane:
    title: str
    top: float
    bottom: float
    zero: float
    ticks: tuple[Tick, ...]
    dots: tuple[SeriesDot, ...]

    @property
    def title_at(self) -> float:
        return self.top - 10


@dataclass(frozen=True)
class EpochMark:
    """A service, as a line through all lanes with its number."""

    x: float
    number: int
    epoch: Epoch


@dataclass(frozen=True)
class SeriesDrawing:
    """Lanes over one axis of days; `ends`: its first day and its last."""

    lanes: tuple[SeriesLane, ...]
    epochs: tuple[EpochMark, ...]
    ends: tuple[date, date]
    height: float
    width: int = 360
    left: float = LEFT
    right: float = RIGHT

    @property
    def dates_at(self) -> float:
        return self.height - 4

    @property
    def tick_right(self) -> float:
        return self.left - 7

    @property
    def bottom(self) -> float:
        return self.lanes[-1].bottom


def series_drawing(shown: MeasuredKiln, unit: str) -> SeriesDrawing | None:
    """None where nothing was measured, or nothing that could be drawn."""
    told = [line for line in shown.lines if line.offset is not None or line.range is not None]
    if not told:
        return None
    days = [line.row.measured_on for line in told] + [epoch.on for epoch in shown.epochs]
    first, last = min(days), max(days)
    if first == last:
        first, last = first - timedelta(days=15), last + timedelta(days=15)
    step = (RIGHT - LEFT - 2 * INSET) / (last - first).days

    def x_of(day: date) -> float:
        return round(LEFT + INSET + step * (day - first).days, 1)

    lanes = []
    bottom = 0.0
    for title, values in (
        ("Glass less display", _offsets(told)),
        ("Hottest less coldest place", _ranges(told)),
    ):
        if values:
            lanes.append(_lane(title, values, bottom + LANE_GAP, x_of, unit))
            bottom = lanes[-1].bottom
    marks = [
        EpochMark(x_of(epoch.on), number, epoch)
        for number, epoch in enumerate(shown.epochs, start=1)
    ]
    return SeriesDrawing(tuple(lanes), tuple(marks), (first, last), bottom + DATES_BELOW)


@dataclass(frozen=True)
class _Value:
    """°C, with the ends between which it may lie."""

    line: MeasurementLine
    value: float
    low: float
    high: float


def _offsets(lines: Sequence[MeasurementLine]) -> list[_Value]:
    told = [(line, line.offset) for line in lines if line.offset is not None]
    return [
        _Value(line, seen.value, seen.value - seen.spread, seen.value + seen.spread)
        for line, seen in told
    ]


def _ranges(lines: Sequence[MeasurementLine]) -> list[_Value]:
    told = [(line, line.range) for line in lines if line.range is not None]
    return [
        _Value(line, seen.value, max(seen.value - seen.spread, 0.0), seen.value + seen.spread)
        for line, seen in told
    ]


def _lane(
    title: str, values: Sequence[_Value], top: float, x_of: Callable[[date], float], unit: str
) -> SeriesLane:
    lowest = min(each.low for each in values)
    lowest = min(lowest, -LEAST_HALF_C) if lowest < 0.0 else 0.0
    highest = max(LEAST_HALF_C, *(each.high for each in values))
    degree = float(rate_from_celsius(1.0, unit))
    between = round_step((highest - lowest) * degree / 4.0) / degree
    scale = LANE / (highest - lowest)

    def y_of(value: float) -> float:
        return round(top + (highest - value) * scale, 1)

    first, last = int(-(-lowest // between)), int(highest // between)
    return SeriesLane(
        title=title,
        top=top,
        bottom=top + LANE,
        zero=y_of(0.0),
        ticks=tuple(
            Tick(y_of(n * between), formats.temperature_difference(n * between, unit))
            for n in range(first, last + 1)
        ),
        dots=tuple(_dots(values, x_of, y_of, unit)),
    )


def _dots(
    values: Sequence[_Value],
    x_of: Callable[[date], float],
    y_of: Callable[[float], float],
    unit: str,
) -> list[SeriesDot]:
    dots: list[SeriesDot] = []
    labelled = -LABEL_ROOM
    for each in reversed(values):  # the first of them first
        x = x_of(each.line.row.measured_on)
        has_room = x - labelled >= LABEL_ROOM and x + LABEL_ROOM <= RIGHT
        labelled = x if has_room else labelled
        display = float(from_celsius(each.line.row.display_c, unit))
        dots.append(
            SeriesDot(
                x=x,
                y=y_of(each.value),
                low=y_of(each.low),
                high=y_of(each.high),
                label=formats.number(display) if has_room else "",
                is_current=each.line.is_current,
            )
        )
    return dots


def evenness_drawing(shown: MeasuredKiln, unit: str) -> ShelfDrawing:
    """The shelf, each place with the degrees by which it differs from the reference."""
    marks, words = {}, []
    for line in shown.place_lines:
        told = formats.temperature_difference(line.seen.difference, unit)
        sign = told.partition(formats.NO_BREAK)[0]
        if line.place.is_reference:
            marks[line.place.pk] = SpotMark("0", "wanted")
            continue
        tone = ("short" if line.seen.difference < 0 else "far") if line.seen.is_sure else ""
        marks[line.place.pk] = SpotMark(sign, tone)
        words.append(f"{line.place.name} {told}")
    says = "; ".join(words)
    return shelf_drawing(
        shown.kiln,
        shown.places,
        marks=marks,
        says=f"The shelf from above, each place against the reference. {says}." if says else "",
    )
