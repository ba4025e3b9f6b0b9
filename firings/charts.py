"""A firing's plan and what was noted of it, as what `schedules.charts` draws.

With only a peak on record there is no recorded curve: the peak is a single reading, which stands
where the plan had the top, and the page says that its moment was not noted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from django.utils import timezone

from firings.models import Firing
from firings.services.comparison import PEAK_TOLERANCE
from firings.services.recording import Recording
from firings.services.top import find_top
from schedules.charts import (
    DrawnPoint,
    Line,
    SvgCurve,
    TemperatureBand,
    curve_drawings,
    planned_line,
    plotly_figure,
)
from schedules.core_inputs import OPENING_C
from schedules.queries.planned import annealing_band
from schedules.services.curve import Curve
from studio import formats


@dataclass(frozen=True)
class FiringChart:
    """One chart, drawn on the server or given to plotly, in the reader's unit."""

    unit: str
    planned: Line
    readings: Line | None
    bands: tuple[TemperatureBand, ...]
    starts_at: datetime | None

    @property
    def drawings(self) -> tuple[SvgCurve, ...]:
        return curve_drawings(**self._given())

    @property
    def figure(self) -> dict[str, Any]:
        return plotly_figure(**self._given())

    def _given(self) -> dict[str, Any]:
        return {
            "unit": self.unit,
            "planned": self.planned,
            "readings": self.readings,
            "bands": self.bands,
            "starts_at": self.starts_at,
        }


def firing_chart(firing: Firing, curve: Curve, recording: Recording, unit: str) -> FiringChart:
    """The chart of a firing of which `curve` is the plan; clock times once it has a start."""
    start = firing.started_at or firing.planned_start
    return FiringChart(
        unit=unit,
        planned=planned_line(curve, cooled_to=OPENING_C),
        readings=_noted_peak(curve, recording),
        bands=annealing_band(firing.revision.schedule.family),
        starts_at=None if start is None else timezone.localtime(start),
    )


def _noted_peak(curve: Curve, recording: Recording) -> Line | None:
    peak, top = recording.highest, find_top(curve.segments)
    if peak is None or top.index >= len(curve.spans):
        return None
    return Line(np.array([curve.spans[top.index].hold_start]), np.array([peak]))


@dataclass(frozen=True)
class DifferenceTick:
    at: float
    label: str
    is_zero: bool


@dataclass(frozen=True)
class PeakDrawing:
    """Dots of recorded less keyed peaks, from the earliest to the latest."""

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


def peak_drawing(latest_first: Sequence[float], unit: str) -> PeakDrawing:
    """Differences in °C, drawn with the tolerance within which a kiln kept to its plan."""
    reach = max(PEAK_TOLERANCE, *(abs(value) for value in latest_first)) * _MARGIN
    room = PeakDrawing.right - PeakDrawing.left

    def y_of(difference: float) -> float:
        return round(_MIDDLE - _HALF * difference / reach, 1)

    return PeakDrawing(
        points=tuple(
            DrawnPoint(
                round(PeakDrawing.left + room * (index + 0.5) / len(latest_first), 1), y_of(value)
            )
            for index, value in enumerate(reversed(latest_first))
        ),
        ticks=tuple(
            DifferenceTick(
                y_of(value), formats.temperature_difference(value, unit), is_zero=value == 0
            )
            for value in (PEAK_TOLERANCE, 0.0, -PEAK_TOLERANCE)
        ),
    )
