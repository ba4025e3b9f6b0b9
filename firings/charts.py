"""A firing's plan and what was noted of it, as what `schedules.charts` draws.

With only a peak on record there is no recorded curve: the peak is a single reading, which stands
where the plan had the top, and the page says that its moment was not noted.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from django.utils import timezone

from firings.models import Firing
from firings.services.recording import Recording
from firings.services.top import find_top
from schedules.charts import (
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
