"""What a kiln makes of a schedule, for a page: its curve, its times and what speaks against it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils import timezone

from schedules.charts import (
    Line,
    SvgCurve,
    TemperatureBand,
    curve_drawings,
    planned_line,
)
from schedules.core_inputs import OPENING_C, kiln_limits_of, response_of
from schedules.figures import plotly_figure
from schedules.queries.opening import Opening, opening_of
from schedules.services.case import Case
from schedules.services.checks import Load, Remark, check_case
from schedules.services.curve import Curve, Segment, planned_curve
from studio.formats import duration, temperature
from studio.models import GlassFamily, Kiln


@dataclass(frozen=True)
class Planned:
    """Times are in s from the start; None where a target isn't reached."""

    kiln: Kiln
    unit: str
    curve: Curve
    bands: tuple[TemperatureBand, ...]
    found: list[Remark]
    case: Case
    earlier: Curve | None = None

    @property
    def drawings(self) -> tuple[SvgCurve, ...]:
        return curve_drawings(
            unit=self.unit, planned=self._line, earlier=self._earlier_line, bands=self.bands
        )

    @property
    def figure(self) -> dict[str, Any]:
        return plotly_figure(
            unit=self.unit, planned=self._line, earlier=self._earlier_line, bands=self.bands
        )

    @property
    def _line(self) -> Line:
        return planned_line(self.curve, cooled_to=OPENING_C)

    @property
    def _earlier_line(self) -> Line | None:
        return None if self.earlier is None else planned_line(self.earlier, cooled_to=OPENING_C)

    @property
    def says(self) -> str:
        """The drawing in a sentence."""
        peak = temperature(self.curve.peak, self.unit)
        if self.total_s is None:
            return f"Planned curve in {self.kiln}, up to {peak}; it does not reach every target."
        return f"Planned curve in {self.kiln}: up to {peak}, {duration(self.total_s)} in all."

    @property
    def total_s(self) -> float | None:
        return self.curve.duration

    @cached_property
    def opening(self) -> Opening | None:
        """When it would be cool enough if it were started now."""
        return opening_of(self.curve, timezone.now())

    @property
    def total_difference_s(self) -> float | None:
        if self.earlier is None or self.earlier.duration is None or self.total_s is None:
            return None
        return self.total_s - self.earlier.duration


def planned_in(
    *,
    kiln: Kiln,
    segments: Sequence[Segment],
    unit: str,
    process: str,
    load: Load,
    family: GlassFamily | None = None,
    earlier: Sequence[Segment] | None = None,
) -> Planned:
    limits, response = kiln_limits_of(kiln), response_of(kiln)
    case = Case(tuple(segments), process, load, limits)
    return Planned(
        kiln=kiln,
        unit=unit,
        curve=planned_curve(segments, response),
        bands=annealing_band(family),
        found=check_case(case),
        case=case,
        earlier=None if earlier is None else planned_curve(earlier, response),
    )


def annealing_band(family: GlassFamily | None) -> tuple[TemperatureBand, ...]:
    """From a family's strain point to its annealing point, as far as both are on record."""
    if family is None or not (family.strain_point_c and family.annealing_point_c):
        return ()
    return (
        TemperatureBand(
            "anneal", "annealing range", family.strain_point_c, family.annealing_point_c
        ),
    )
