"""Two kilns side by side: what their records say of each, and what was measured in both."""

from dataclasses import dataclass
from functools import cached_property

from firings.queries.measured import readings_of
from firings.services.kiln_difference import (
    OffsetDifference,
    measured_difference,
    recorded_difference,
)
from firings.services.kiln_offset import MeasuredOffset, OffsetReading, offset_at
from firings.services.learnt_figures import LearntFigure, learnt_figures
from schedules.core_inputs import response_of
from studio.models import Kiln
from studio.models.kiln import ToleranceClass
from studio.services.response_parameters import PARAMETERS, parameters
from studio.services.thermocouple import tolerance

CLASSES = {
    ToleranceClass.IEC_1: "IEC 1",
    ToleranceClass.IEC_2: "IEC 2",
    ToleranceClass.ASTM_SPECIAL: "ASTM special",
    ToleranceClass.ASTM_STANDARD: "ASTM standard",
}


@dataclass(frozen=True)
class KilnFigure:
    """One of `PARAMETERS`, °C/h, °C or s; a range only where recordings told of it."""

    name: str
    value: float
    learnt: LearntFigure | None


@dataclass(frozen=True)
class KilnSide:
    """One of the two kilns, as its record has it."""

    kiln: Kiln

    @property
    def is_proven(self) -> bool:
        """Whether somebody measured its offset, with the thermocouple that is in it now."""
        return self.kiln.is_offset_proven

    @cached_property
    def figures(self) -> list[KilnFigure]:
        """How it heats and cools, as plans use it."""
        response = response_of(self.kiln)
        learnt = () if response.covariance is None else learnt_figures(response)
        told = {figure.name: figure for figure in learnt if figure.told}
        values = parameters(response).tolist()
        return [
            KilnFigure(name, value, told.get(name))
            for name, value in zip(PARAMETERS, values, strict=True)
        ]

    def tolerance_at(self, temperature: float) -> float | None:
        """± °C of its thermocouple when it was new; None where its class is not on record."""
        kind, of_class = self.kiln.thermocouple_type, CLASSES.get(self.kiln.thermocouple_class)  # type: ignore[call-overload]
        if not kind or of_class is None:
            return None
        try:
            return tolerance(temperature, kind, of_class)
        except ValueError:  # hotter than the class holds
            return None


@dataclass(frozen=True)
class MeasuredNear:
    """What was measured in both kilns near one temperature, °C; None where it is unproven."""

    at: float
    source: MeasuredOffset | None
    target: MeasuredOffset | None

    def on_record(self, source: Kiln, target: Kiln) -> OffsetDifference:
        """The kilns' difference by their records, as sure as what was measured here makes it."""
        spreads = [
            offset.spread
            if offset is not None and offset.bears_out(kiln.known_offset_c, kiln.repeatability_c)
            else None
            for offset, kiln in ((self.source, source), (self.target, target))
        ]
        return recorded_difference(
            source.known_offset_c,
            target.known_offset_c,
            measured_from=source.is_offset_proven,
            measured_to=target.is_offset_proven,
            spread_from=spreads[0],
            spread_to=spreads[1],
        )

    @property
    def difference(self) -> OffsetDifference | None:
        """By how much the other kiln runs hotter there, where both were measured."""
        if self.source is None or self.target is None:
            return None
        return measured_difference(self.source, self.target)


@dataclass(frozen=True)
class MeasuredSides:
    """All that was measured in two kilns with the thermocouples that are in them now."""

    source: tuple[OffsetReading, ...]
    target: tuple[OffsetReading, ...]

    def near(self, at: float) -> MeasuredNear:
        """Near a temperature of both displays, °C."""
        return MeasuredNear(at, offset_at(at, self.source), offset_at(at, self.target))


def measured_sides(source: Kiln, target: Kiln) -> MeasuredSides:
    return MeasuredSides(tuple(readings_of(source)), tuple(readings_of(target)))
