"""A firing's plan and what was recorded of it, as `schedules.charts` and `figures` draw it.

A series is a line, readings noted by hand are dots. With only a peak on record the peak is a single
dot, which stands where the plan had the top, and the page says that its moment was not noted.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.utils import timezone
from numpy.typing import NDArray

from firings.models import Firing
from firings.recording_inputs import has_series, spot_recording
from firings.services.comparison import Comparison
from firings.services.noted_top import PEAK_TOLERANCE
from firings.services.recording import Recording
from firings.services.top import find_top
from schedules.charts import (
    DrawnPoint,
    Line,
    Moment,
    SvgCurve,
    TemperatureBand,
    curve_drawings,
    planned_line,
)
from schedules.core_inputs import OPENING_C
from schedules.figures import TimeBand, detail, plotly_figure
from schedules.queries.planned import annealing_band
from schedules.services.curve import Curve
from studio import formats

CLOCKS_APART = timedelta(hours=12)
"""Beyond this a recording's clock and the firing's noted start are not of one firing."""


@dataclass(frozen=True)
class FiringChart:
    """One chart, drawn on the server or given to plotly, in the reader's unit.

    Times are s from the chart's left edge, which `starts_at` is: the start, or the first reading
    where that came before; `recorded_later` is from there to the time 0 of the recording.
    """

    unit: str
    planned: Line
    recorded: Line | None
    readings: Line | None
    bands: tuple[TemperatureBand, ...]
    stretches: tuple[TimeBand, ...]
    moments: tuple[Moment, ...]
    starts_at: datetime | None
    recorded_later: float = 0.0

    @property
    def last(self) -> float:
        """s at the right edge."""
        lines = (self.planned, self.recorded, self.readings)
        return max(float(np.nanmax(line.times)) for line in lines if line and line.times.size)

    @property
    def drawings(self) -> tuple[SvgCurve, ...]:
        return curve_drawings(**self._given())

    @property
    def figure(self) -> dict[str, Any]:
        return plotly_figure(stretches=self.stretches, **self._given())

    def detail(self, since: float, until: float) -> dict[str, Any]:
        """The recorded line with a stretch of it, s from the left edge, in detail."""
        nothing = Line(np.empty(0), np.empty(0))
        return detail(
            self.recorded or nothing,
            unit=self.unit,
            starts_at=self.starts_at,
            since=since,
            until=until,
        )

    def _given(self) -> dict[str, Any]:
        return {
            "unit": self.unit,
            "planned": self.planned,
            "recorded": self.recorded,
            "readings": self.readings,
            "bands": self.bands,
            "moments": self.moments,
            "starts_at": self.starts_at,
        }


def firing_chart(
    firing: Firing,
    curve: Curve,
    recording: Recording,
    comparison: Comparison,
    unit: str,
    *,
    is_sent: bool = False,
) -> FiringChart:
    """The chart of a firing of which `curve` is the plan; clock times once it has a start.

    `is_sent`: whether the recording is what a logger sent so far, and not what people noted.
    """
    start = firing.started_at or firing.planned_start if firing.knows_time else None
    offset = recording_offset(firing, recording, comparison)
    edge = min(0.0, offset)
    planned = planned_line(curve, cooled_to=OPENING_C)
    is_line = is_sent or has_series(firing)
    recorded = Line(*recording.broken_at_gaps()) if is_line else None
    chart = FiringChart(
        unit=unit,
        planned=_later(planned, -edge),
        recorded=None if recorded is None else _later(recorded, offset - edge),
        readings=_dots(firing, curve, recording, -edge),
        bands=annealing_band(firing.revision.schedule.family),
        stretches=tuple(
            TimeBand(str(each.index + 1), each.start + offset - edge, each.end + offset - edge)
            for each in comparison.segments
            if each.start is not None and each.end is not None
        ),
        moments=(),
        starts_at=None if start is None else timezone.localtime(start + timedelta(seconds=edge)),
        recorded_later=offset - edge,
    )
    return replace(chart, moments=_moments(firing, chart))


def preview_drawings(
    firing: Firing, curve: Curve, recording: Recording, unit: str
) -> tuple[SvgCurve, ...]:
    """A recording that is not taken yet, over the plan, both from where they begin."""
    offset = max(recording_offset(firing, recording), 0.0)
    return curve_drawings(
        unit=unit,
        planned=planned_line(curve, cooled_to=OPENING_C),
        recorded=_later(Line(*recording.broken_at_gaps()), offset),
        bands=annealing_band(firing.revision.schedule.family),
    )


def recording_offset(
    firing: Firing, recording: Recording, comparison: Comparison | None = None
) -> float:
    """s from the firing's start to the recording's first reading.

    By the recording's clock, where it has one that can be of this firing; else the first ramp is
    taken to begin with the firing.
    """
    start = firing.started_at
    if start is None or not recording.is_series:
        return 0.0
    if recording.started_at is not None and abs(recording.started_at - start) <= CLOCKS_APART:
        return (recording.started_at - start).total_seconds()
    if comparison is None or not comparison.segments:
        return 0.0
    return -(comparison.segments[0].start or 0.0)


def _later(line: Line, seconds: float) -> Line:
    return Line(line.times + seconds, line.temperatures) if seconds else line


def _dots(firing: Firing, curve: Curve, recording: Recording, later: float) -> Line | None:
    """The readings noted by hand; where there are no readings at all, the noted peak."""
    spots = spot_recording(firing)
    if spots.is_series:
        return _later(Line(spots.times, spots.temperatures), later)
    if recording.is_series:
        return None
    peak, top = recording.highest, find_top(curve.segments)
    if peak is None or top.index >= len(curve.spans):
        return None
    return Line(np.array([curve.spans[top.index].hold_start + later]), np.array([peak]))


def _moments(firing: Firing, chart: FiringChart) -> tuple[Moment, ...]:
    """Events, notes beside readings, and photographs of while it fired, each on the line."""
    if chart.starts_at is None or firing.started_at is None:
        return ()
    happened = [(each.happened_at, each.get_kind_display()) for each in firing.events.all()]
    happened += [(each.at, each.note) for each in firing.spot_readings.all() if each.note]
    happened += [
        (each.added_at, "photograph")
        for each in firing.photographs.all()
        if firing.started_at <= each.added_at
        and (firing.opened_at is None or each.added_at < firing.opened_at)
    ]
    happened.sort(key=lambda each: each[0])
    line = chart.recorded or chart.planned
    known = np.isfinite(line.temperatures)
    times, temperatures = line.times[known], line.temperatures[known]
    moments = []
    for at, words in happened:
        seconds = (at - chart.starts_at).total_seconds()
        clock = f"{timezone.localtime(at):%H:%M}"
        temperature = _at(seconds, times, temperatures)
        moments.append(Moment(seconds, temperature, f"{clock} {words}"))
    return tuple(moments)


def _at(seconds: float, times: NDArray[np.float64], temperatures: NDArray[np.float64]) -> float:
    return float(np.interp(seconds, times, temperatures)) if times.size else 0.0


@dataclass(frozen=True)
class DifferenceTick:
    at: float
    label: str
    is_zero: bool


@dataclass(frozen=True)
class DifferenceDrawing:
    """Dots of recorded less planned, a dot a firing, from the earliest to the latest."""

    points: tuple[DrawnPoint, ...]
    ticks: tuple[DifferenceTick, ...]
    width: int = 360
    height: int = 150
    left: int = 58
    right: int = 352

    @property
    def tick_right(self) -> int:
        return self.left - 7


_MIDDLE, _HALF = 75.0, 64.0
_MARGIN = 1.15
DURATION_TOLERANCE = 0.03
"""Share of a duration within which a prediction counts as good."""


def peak_drawing(latest_first: Sequence[float], unit: str) -> DifferenceDrawing:
    """Differences in °C, drawn with the tolerance within which a kiln kept to its plan."""
    return _difference_drawing(
        latest_first, PEAK_TOLERANCE, lambda each: formats.temperature_difference(each, unit)
    )


def duration_drawing(latest_first: Sequence[float]) -> DifferenceDrawing:
    """Differences as shares of what was predicted."""
    return _difference_drawing(latest_first, DURATION_TOLERANCE, formats.percent_difference)


def _difference_drawing(
    latest_first: Sequence[float], tolerance: float, label: Callable[[float], str]
) -> DifferenceDrawing:
    reach = max(tolerance, *(abs(value) for value in latest_first)) * _MARGIN
    room = DifferenceDrawing.right - DifferenceDrawing.left

    def y_of(difference: float) -> float:
        return round(_MIDDLE - _HALF * difference / reach, 1)

    return DifferenceDrawing(
        points=tuple(
            DrawnPoint(
                round(DifferenceDrawing.left + room * (index + 0.5) / len(latest_first), 1),
                y_of(value),
            )
            for index, value in enumerate(reversed(latest_first))
        ),
        ticks=tuple(
            DifferenceTick(y_of(value), label(value), is_zero=value == 0)
            for value in (tolerance, 0.0, -tolerance)
        ),
    )
