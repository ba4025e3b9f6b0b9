"""A revision as its page shows it, in one unit and one kiln."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from django.db.models import QuerySet

from schedules.core_inputs import core_segments, load_for, written_segments
from schedules.models import Revision, Schedule
from schedules.queries.glass_course import GlassCoursePage, planned_course
from schedules.queries.planned import Planned, planned_in
from schedules.queries.remarks import (
    HeardRemark,
    RemarkList,
    acts_on_revision,
    mends_in,
    remark_list,
    silenced_on,
)
from schedules.services.curve import Curve
from studio.models import Kiln, Unit
from studio.services.units import from_celsius, rate_from_celsius

WRITTEN_DECIMALS, CONVERTED_DECIMALS = 2, 1


@dataclass(frozen=True)
class SegmentLine:
    """A row of the table: degrees of the unit shown, and s from the start at which it ends."""

    position: int
    rate: Decimal | float | None
    target: Decimal | float
    hold_minutes: int
    ends_s: float | None


@dataclass(frozen=True)
class RevisionPage:
    revision: Revision
    unit: str
    lines: list[SegmentLine]
    planned: Planned | None
    kilns: Sequence[Kiln]
    may_mend: bool = False

    @cached_property
    def remarks(self) -> RemarkList | None:
        """What speaks against it in the kiln shown, with what would mend it."""
        planned, revision = self.planned, self.revision
        if planned is None:
            return None
        return remark_list(
            planned.found,
            self.unit,
            silenced=silenced_on(revision.schedule),
            mends=mends_in(planned.case, planned.found, written_segments(revision), revision.unit),
        )

    @property
    def acts(self) -> str:
        """The template of what the reader can do about a remark."""
        return acts_on_revision(may_mend=self.may_mend)

    @property
    def rows(self) -> list[tuple[SegmentLine, list[HeardRemark]]]:
        """Each line of the table, with the remarks that stand beside it."""
        remarks = self.remarks or RemarkList([], [])
        return [(line, remarks.beside(line.position)) for line in self.lines]

    @cached_property
    def course(self) -> GlassCoursePage | None:
        return None if self.planned is None else planned_course(self.planned)

    @property
    def as_written(self) -> bool:
        return self.unit == self.revision.unit

    @property
    def decimals(self) -> int:
        return WRITTEN_DECIMALS if self.as_written else CONVERTED_DECIMALS

    @property
    def other_unit(self) -> str:
        return Unit.CELSIUS if self.unit == Unit.FAHRENHEIT else Unit.FAHRENHEIT


def revisions_of(schedule: Schedule) -> QuerySet[Revision]:
    return schedule.revisions.select_related("made_by", "written_for", "copied_from__schedule")


def revision_page(
    revision: Revision, *, unit: str | None, kiln_pk: str | None, may_mend: bool = False
) -> RevisionPage:
    """`unit` and `kiln_pk` as asked for in the address; what can't be understood is left out.

    `may_mend`: whether the reader may write its next revision.
    """
    shown = unit if unit in Unit.values else revision.unit
    kilns = kilns_for(revision)
    planned = planned_of(revision, chosen_kiln(kilns, kiln_pk), unit=shown)
    return RevisionPage(
        revision=revision,
        unit=shown,
        lines=segment_lines(revision, shown, None if planned is None else planned.curve),
        planned=planned,
        kilns=kilns,
        may_mend=may_mend,
    )


def planned_of(
    revision: Revision, kiln: Kiln | None, *, unit: str, earlier: Revision | None = None
) -> Planned | None:
    """The revision in a kiln, with the curve of an earlier one beside it; None without a kiln."""
    if kiln is None:
        return None
    schedule = revision.schedule
    return planned_in(
        kiln=kiln,
        segments=core_segments(revision),
        earlier=None if earlier is None else core_segments(earlier),
        unit=unit,
        process=schedule.process,
        load=load_for(schedule),
        family=schedule.family,
    )


def kilns_for(revision: Revision) -> list[Kiln]:
    """Kilns in service, after the one that it was written for."""
    kilns = list(Kiln.objects.filter(in_service=True))
    own = revision.written_for
    if own is None:
        return kilns
    return [own, *(kiln for kiln in kilns if kiln.pk != own.pk)]


def chosen_kiln(kilns: Sequence[Kiln], kiln_pk: str | None) -> Kiln | None:
    asked = next((kiln for kiln in kilns if str(kiln.pk) == kiln_pk), None)
    return asked or next(iter(kilns), None)


def segment_lines(revision: Revision, unit: str, curve: Curve | None) -> list[SegmentLine]:
    spans = () if curve is None else curve.spans
    lines = []
    for index, (row, core) in enumerate(
        zip(revision.segments.all(), core_segments(revision), strict=True)
    ):
        rate: Decimal | float | None = row.rate
        target: Decimal | float = row.target
        if unit != revision.unit:
            rate = None if core.rate is None else rate_from_celsius(core.rate, unit)
            target = from_celsius(core.target, unit)
        lines.append(
            SegmentLine(
                position=row.position,
                rate=rate,
                target=target,
                hold_minutes=row.hold_minutes,
                ends_s=spans[index].hold_end if index < len(spans) else None,
            )
        )
    return lines
