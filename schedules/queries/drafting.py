"""A draft as its page shows it: the numbers as they are keyed, and the reason for each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import floor, sqrt
from typing import Any

from django.db.models import Count

from schedules.core_inputs import MM_PER_M, OPENING_C, kiln_limits_of, load_to_draft
from schedules.models import Process, Revision, Schedule, SilencedRemark
from schedules.queries.planned import Planned, planned_in
from schedules.queries.remarks import RemarkList, remark_list, silenced_on
from schedules.services.anneal_thickness import UNEVEN_FACTORS
from schedules.services.case import Case, KilnLimits
from schedules.services.curve import Segment
from schedules.services.draft_fitting import NEAR_ENOUGH
from schedules.services.drafted import DraftedSegment, NoDraftError, Reason, as_written
from schedules.services.drafting import draft
from schedules.services.top_rules import STACKED
from schedules.services.writing import WrittenSegment, to_core
from studio.formats import number
from studio.models import GlassFamily, Kiln, Person

USUAL_GIVENS = {
    "process": Process.FULL_FUSE,
    "thickest_mm": 6.0,
    "layers": 2,
    "width_mm": 200.0,
    "length_mm": 200.0,
}
LEFT_TO_ITSELF_ABOVE_C = OPENING_C + 40.0


@dataclass(frozen=True)
class Why:
    """The reason for one number of a segment: field "rate", "target" or "hold"."""

    field: str
    reason: Reason


@dataclass(frozen=True)
class DraftLine:
    """A segment as it is keyed and in core units; `ends_s`: s from the start, or None."""

    position: int
    written: WrittenSegment
    core: Segment
    drafted: DraftedSegment
    ends_s: float | None

    @property
    def whys(self) -> list[Why]:
        fields = {"rate": self.drafted.why_rate, "target": self.drafted.why_target}
        if self.written.hold_minutes:
            fields["hold"] = self.drafted.why_hold
        return [Why(field, reason) for field, reason in fields.items()]

    @property
    def is_anneal(self) -> bool:
        return self.drafted.why_hold.code == "soak_for_thickness"


@dataclass(frozen=True)
class Givens:
    """What the draft form asks for, with what follows from it; lengths in mm, `peak` in °C."""

    process: str
    kiln: Kiln
    family: GlassFamily | None
    kind: Any
    thickest_mm: float
    thinnest_mm: float
    layers: int
    width_mm: float | None
    length_mm: float | None
    peak: float | None

    @cached_property
    def case(self) -> Case:
        load = load_to_draft(
            family=self.family,
            kind=self.kind,
            thickest_mm=self.thickest_mm,
            thinnest_mm=self.thinnest_mm,
            layers=self.layers,
            width_mm=self.width_mm,
            length_mm=self.length_mm,
        )
        return Case((), self.process, load, self.limits)

    @cached_property
    def limits(self) -> KilnLimits:
        return kiln_limits_of(self.kiln)

    @property
    def unit(self) -> str:
        return self.kiln.controller_unit

    @property
    def process_words(self) -> str:
        return str(Process(self.process).label)

    @property
    def is_even(self) -> bool:
        return self.thinnest_mm == self.thickest_mm

    @property
    def annealed_mm(self) -> float:
        return self.case.thickness.by_factor * MM_PER_M

    @property
    def is_annealed_thicker(self) -> bool:
        return self.annealed_mm > self.thickest_mm * 1.001

    @property
    def is_stacked(self) -> bool:
        return self.process in STACKED

    @property
    def leaves_parts_proud(self) -> bool:
        return self.process in UNEVEN_FACTORS

    @property
    def thickness_words(self) -> str:
        thickest = number(self.thickest_mm, 1)
        return f"{thickest} mm" if self.is_even else f"{number(self.thinnest_mm, 1)}–{thickest} mm"

    @property
    def words(self) -> str:
        """All of them in a line, as a revision's reason keeps them."""
        parts = [self.process_words]
        if self.process != Process.METAL_CLAY:
            parts.append(str(self.kind or self.family))
            parts.append(self.thickness_words)
            parts.append(f"{self.layers} layer{'' if self.layers == 1 else 's'}")
            if self.width_mm and self.length_mm:
                parts.append(f"{number(self.width_mm)} × {number(self.length_mm)} mm")
        if self.peak is not None:
            parts.append("peak by the maker’s sheet")
        return ", ".join(parts)

    @property
    def reason(self) -> str:
        return f"Drafted for {self.kiln}: {self.words}. A place to start, not proven yet."

    @property
    def usual_name(self) -> str:
        words = self.process_words.capitalize()
        if self.process == Process.METAL_CLAY:
            return words
        return f"{words} {self.thickness_words}, {self.family}"[:80]

    def fit(self, schedule: Schedule) -> bool:
        """Whether a draft for them could be a revision of this schedule."""
        return (
            self.process == schedule.process
            and self.family == schedule.family
            and self.thickest_mm == schedule.thickest_mm
            and self.thinnest_mm == schedule.thinnest_mm
        )


@dataclass(frozen=True)
class Draft:
    givens: Givens
    written: list[WrittenSegment]
    lines: list[DraftLine]
    planned: Planned
    silenced: Sequence[SilencedRemark] = ()

    @cached_property
    def remarks(self) -> RemarkList:
        return remark_list(self.planned.found, self.unit, silenced=self.silenced)

    @property
    def unit(self) -> str:
        return self.givens.unit

    @property
    def fingerprint(self) -> str:
        """Its numbers in a line, by which one is known to keep what one saw."""
        rows = (f"{each.rate}/{each.target}/{each.hold_minutes}" for each in self.written)
        return f"{self.unit} {' '.join(rows)}"

    @property
    def left_to_itself_c(self) -> float | None:
        """The target from which the kiln is left to cool, °C, where that is well above opening."""
        last = self.lines[-1].core.target
        return last if self.givens.case.is_glass and last > LEFT_TO_ITSELF_ABOVE_C else None


@dataclass(frozen=True)
class Refusal:
    """Why there is no draft: a code of `NoDraftError`, and what its check says."""

    givens: Givens
    code: str
    figure: float | None
    remarks: RemarkList

    @property
    def unit(self) -> str:
        return self.givens.unit

    @property
    def step_c(self) -> float:
        return self.givens.limits.resolution

    @property
    def thickest_that_goes_mm(self) -> int:
        """How thick a piece might be for the controller's smallest rate: rates go with 1/d²."""
        if not self.figure:
            return 0
        return floor(self.givens.thickest_mm * sqrt(self.figure * NEAR_ENOUGH / self.step_c))


def draft_of(givens: Givens, schedule: Schedule | None = None) -> Draft | Refusal:
    """The draft for these givens, in the figures of the kiln's controller, or why there is none;
    with what is silenced on the schedule that is drafted anew."""
    case, unit = givens.case, givens.unit
    try:
        plan = draft(givens.process, case.load, case.kiln, peak=givens.peak)
    except NoDraftError as none:
        remarks = [replace(remark, segment=None) for remark in none.remarks]
        return Refusal(givens, none.code, none.figure, remark_list(remarks, unit))
    written = as_written(plan, unit)
    segments = to_core(written, unit)
    planned = planned_in(
        kiln=givens.kiln,
        segments=segments,
        unit=unit,
        process=givens.process,
        load=case.load,
        family=givens.family,
    )
    spans = planned.curve.spans
    lines = [
        DraftLine(
            position=index + 1,
            written=written[index],
            core=segments[index],
            drafted=each,
            ends_s=spans[index].hold_end if index < len(spans) else None,
        )
        for index, each in enumerate(plan)
    ]
    return Draft(
        givens=givens,
        written=written,
        lines=lines,
        planned=planned,
        silenced=silenced_on(schedule),
    )


def usual_givens(person: Person) -> dict[str, Any]:
    """What the form starts with: the kiln that the person wrote for last, the studio's commonest
    glass."""
    written = Revision.objects.filter(written_for__in_service=True).order_by("-made_at")
    last = written.filter(made_by=person).first() or written.first()
    kiln_pk = None if last is None else last.written_for_id
    if kiln_pk is None:
        kiln_pk = Kiln.objects.filter(in_service=True).values_list("pk", flat=True).first()
    family = GlassFamily.objects.annotate(used=Count("schedules")).order_by("-used", "name").first()
    return USUAL_GIVENS | {"kiln": kiln_pk, "family": None if family is None else family.pk}


def givens_of(schedule: Schedule) -> dict[str, Any]:
    """What the form starts with where a schedule is to be drafted anew."""
    return {
        "process": schedule.process,
        "family": schedule.family_id,
        "thickest_mm": schedule.thickest_mm,
        "thinnest_mm": schedule.thinnest_mm,
    }


def asked_givens(names: Mapping[str, Any], query: Mapping[str, str]) -> dict[str, str]:
    """What an address asks the form to start with."""
    return {name: query[name] for name in names if query.get(name)}
