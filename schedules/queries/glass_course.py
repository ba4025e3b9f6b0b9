"""What a firing does to the glass, for a page: strips, figures, and the longest safe stages."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from schedules.core_inputs import MM_PER_M
from schedules.queries.planned import Planned
from schedules.services.anneal_plan import CoolingStage
from schedules.services.annealing_rules import anneal_soaks, cools_after
from schedules.services.case import COOLED, Case
from schedules.services.drafting import soak_temperature
from schedules.services.glass_course import GlassCourse, Greatest, glass_course
from schedules.services.heating_rules import LAID_IN_PARTS
from schedules.services.safe_cooling import StagePassed, safe_stages, stages_passed
from schedules.stress_charts import PASCALS_PER_MEGAPASCAL, StressDrawing, stress_drawings
from studio.formats import number, temperature_span


@dataclass(frozen=True)
class DifferenceRow:
    """A difference through the piece: "heating", "settling" or "passing".

    `moment_s` is from the start, `at` the clock's time where there was one, and `display_c` what
    the display showed then.
    """

    code: str
    difference: float
    moment_s: float
    display_c: float
    at: datetime | None


@dataclass(frozen=True)
class StageRow:
    """A stage of cooling, in temperatures of the display."""

    passed: StagePassed
    starts_c: float
    ends_c: float


@dataclass(frozen=True)
class GlassCoursePage:
    """What a page tells of a firing's glass, in `unit`.

    `is_settled` says whether the course goes on to where the stress is settled; what is left, and
    how it was cooled, is told only then.
    """

    case: Case
    unit: str
    course: GlassCourse
    stages: tuple[StagePassed, ...]
    drawings: tuple[StressDrawing, ...]
    starts_at: datetime | None = None
    is_settled: bool = True
    is_heating_known: bool = True

    @property
    def thickness_mm(self) -> float:
        return self.case.thickness.by_factor * MM_PER_M

    @property
    def begins_in_parts(self) -> bool:
        return self.case.process in LAID_IN_PARTS

    @property
    def rows(self) -> tuple[DifferenceRow, ...]:
        return tuple(self._rows())

    def _rows(self) -> Iterator[DifferenceRow]:
        found = (
            ("heating", self.course.heating, self.is_heating_known),
            ("settling", self.course.settling, self.is_settled),
            ("passing", self.course.passing, self.is_settled),
        )
        for code, greatest, is_known in found:
            if greatest is not None and is_known:
                yield DifferenceRow(
                    code,
                    greatest.size,
                    greatest.moment,
                    greatest.face - self.case.kiln.offset,
                    self._clock(greatest),
                )

    def _clock(self, greatest: Greatest) -> datetime | None:
        if self.starts_at is None:
            return None
        return self.starts_at + timedelta(seconds=greatest.moment)

    @property
    def stage_rows(self) -> tuple[StageRow, ...]:
        offset = self.case.kiln.offset
        return tuple(
            StageRow(passed, passed.stage.start - offset, passed.stage.end - offset)
            for passed in self.stages
        )

    @property
    def is_faster(self) -> bool:
        """Whether a stage was passed faster than it asks."""
        return any(passed.is_faster for passed in self.stages)

    @property
    def tension_mpa(self) -> float:
        return self.course.tension.size / PASCALS_PER_MEGAPASCAL

    @property
    def strength_mpa(self) -> float:
        return self.course.strength / PASCALS_PER_MEGAPASCAL

    @property
    def left_mpa(self) -> float:
        return self.course.left / PASCALS_PER_MEGAPASCAL

    @property
    def most_mpa(self) -> float:
        return self.course.most / PASCALS_PER_MEGAPASCAL

    @property
    def says(self) -> str:
        """The drawing in a sentence."""
        words = {
            "heating": "on heating",
            "settling": "on cooling while stress settles",
            "passing": "on cooling below that",
        }
        told = [
            f"{temperature_span(row.difference, self.unit, 1)} {words[row.code]}"
            for row in self.rows
        ]
        told.append(f"tension at most {number(self.tension_mpa, 1)} MPa")
        return f"Temperature difference through the piece: at most {', '.join(told)}."


def planned_course(planned: Planned) -> GlassCoursePage | None:
    """Of a schedule in its kiln; None for what is no glass, or never fired to its end."""
    case, stress = planned.case, planned.case.stress
    if stress is None or case.curve is None or case.firing is None:
        return None
    spans, times = case.curve.spans, stress.stress.times
    cools_from = spans[cools_after(case)].hold_end
    one_piece_from = spans[case.top].hold_end if case.process in LAID_IN_PARTS else 0.0
    return GlassCoursePage(
        case=case,
        unit=planned.unit,
        course=glass_course(
            stress, case.load.glass, cools_from=cools_from, one_piece_from=one_piece_from
        ),
        stages=stages_passed(times, stress.faces, stages_of(case), since=cools_from),
        drawings=stress_drawings(
            stress,
            soft_above=case.load.glass.annealing_point,
            unit=planned.unit,
            last=float(case.firing[0][-1]),
            one_piece_from=one_piece_from,
        ),
    )


def stages_of(case: Case) -> tuple[CoolingStage, CoolingStage, CoolingStage]:
    """The longest safe stages after the case's own soak, or after the usual one of its glass."""
    soaks = anneal_soaks(case)
    soak = case.targets[soaks[-1]] if soaks else soak_temperature(case)[0]
    end = COOLED + case.kiln.offset  # to where the display tells that it is cool
    return safe_stages(case.thickness.by_factor, case.load.glass, soak, case.faces, end=end)
