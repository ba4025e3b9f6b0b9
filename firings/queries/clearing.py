"""How a planned firing stands with those who clear it, and what waits to be cleared."""

from dataclasses import dataclass
from functools import cached_property

from django.db.models import F, QuerySet

from firings.models import Clearing, ClearingDecision, Firing, FiringState, Rung
from firings.services.clearing import (
    Decided,
    Part,
    Standing,
    changed_parts,
    may_start,
    seen_digest,
    standing_of,
)
from schedules.core_inputs import core_segments, load_for
from schedules.models import Revision
from schedules.queries.planned import Planned, planned_in
from schedules.queries.revision_difference import lines_between
from schedules.queries.revision_page import SegmentLine, segment_lines
from schedules.services.difference import SegmentChange
from studio.models import Person, Role, Studio
from studio.teaching import clearing_is_asked, clearing_is_asked_of, instructors_of, taught_by


def seen_of(firing: Firing) -> str:
    """What is looked at when a firing is cleared; not its title, notes, time or shelf places."""
    return seen_digest(
        {
            "schedule": firing.revision_id,
            "kiln": firing.kiln_id,
            "keyed": tuple(
                (each.position, each.part, str(each.value))
                for each in firing.keyed_differences.all()
            ),
            "load": tuple(
                sorted(
                    (
                        loaded.piece_id,
                        loaded.glass_id or 0,
                        tuple(sorted(kind.pk for kind in loaded.other_glasses.all())),
                        loaded.layers,
                        str(loaded.thickest_mm),
                        str(loaded.thinnest_mm),
                        str(loaded.length_mm),
                        str(loaded.width_mm),
                        loaded.mould,
                    )
                    for loaded in firing.load.all()
                )
            ),
        }
    )


@dataclass(frozen=True)
class FiringClearing:
    """`decisions`: of this firing, the latest first."""

    firing: Firing
    asked: bool
    decisions: list[Clearing]

    @property
    def runs(self) -> bool:
        return self.firing.state == FiringState.FIRING

    @property
    def latest(self) -> Clearing | None:
        return self.decisions[0] if self.decisions else None

    @property
    def earlier(self) -> list[Clearing]:
        return self.decisions[1:]

    @cached_property
    def seen(self) -> str:
        return seen_of(self.firing)

    @cached_property
    def standing(self) -> Standing:
        latest = self.latest
        decided = None if latest is None else Decided(latest.decision, latest.seen)
        return standing_of(asked=self.asked, latest=decided, seen_now=self.seen)

    @property
    def may_start(self) -> bool:
        return may_start(self.standing)

    @property
    def changed(self) -> tuple[Part, ...]:
        """Since the latest decision."""
        return () if self.latest is None else changed_parts(self.latest.seen, self.seen)

    @property
    def was_found(self) -> bool:
        """Whether it was found running uncleared."""
        return any(each.decision == ClearingDecision.FOUND for each in self.decisions)

    @property
    def was_not_cleared(self) -> bool:
        """Of a firing that has started: nobody had cleared it as it was, and nobody let it go."""
        if self.was_found:
            return True
        cleared = {ClearingDecision.CLEARED, ClearingDecision.OVERRIDDEN}
        return self.asked and not any(each.decision in cleared for each in self.decisions)

    @cached_property
    def clearers(self) -> list[Person]:
        """Who may clear it."""
        return list(instructors_of(self.firing.fired_by))


def clearing_of(firing: Firing) -> FiringClearing:
    """Of one firing; what it was cleared of is read where somebody has to know."""
    decisions = list(firing.clearings.select_related("decided_by", "loaded_piece__piece"))
    return FiringClearing(firing, clearing_is_asked(firing.fired_by), decisions)


def clearings_of(firings: QuerySet[Firing], studio: Studio) -> list[FiringClearing]:
    """The same of many firings, in their order, by as many queries as of one."""
    found = list(
        firings.select_related("kiln", "fired_by", "revision__schedule").prefetch_related(
            "clearings__decided_by", "keyed_differences", "load__other_glasses"
        )
    )
    students = {each.fired_by_id for each in found if each.fired_by.role == Role.STUDENT}
    asked = clearing_is_asked_of(students, studio)
    return [
        FiringClearing(firing, firing.fired_by_id in asked, list(firing.clearings.all()))
        for firing in found
    ]


def firings_to_clear(person: Person, studio: Studio) -> list[FiringClearing]:
    """What was found running uncleared, and what waits for this instructor, the earliest planned
    start first; a keeper sees all."""
    firings = Firing.objects.filter(
        state__in=[FiringState.FIRING, FiringState.PLANNED], fired_by__in=taught_by(person)
    ).order_by("state", F("planned_start").asc(nulls_last=True), "pk")
    return [
        each
        for each in clearings_of(firings, studio)
        if (each.was_found if each.runs else each.standing in ("waiting", "changed"))
    ]


def newer_revision(firing: Firing) -> Revision | None:
    """The newest revision of its schedule, where that isn't the one that is planned; none for a
    rung of a test series, which is fired as it was made."""
    if Rung.objects.filter(revision=firing.revision_id).exists():
        return None
    newest: Revision = firing.revision.schedule.revisions.latest()
    return newest if newest.pk != firing.revision_id else None


@dataclass(frozen=True)
class PlanToClear:
    """The planned revision in its kiln, and what it changed against what it was made from."""

    planned: Planned
    lines: list[SegmentLine]
    base: Revision | None
    changed: list[SegmentChange]


def plan_to_clear(firing: Firing, unit: str) -> PlanToClear:
    """The base is the revision that it is a copy of, or else the one before it; a first has none.

    `firing` is from `firing_for_page`.
    """
    revision, schedule = firing.revision, firing.revision.schedule
    base = revision.copied_from or schedule.revisions.filter(number__lt=revision.number).first()
    planned = planned_in(
        kiln=firing.kiln,
        segments=core_segments(revision),
        earlier=None if base is None else core_segments(base),
        unit=unit,
        process=schedule.process,
        load=load_for(schedule),
        family=schedule.family,
    )
    lines = [] if base is None else lines_between(base, revision)
    return PlanToClear(
        planned=planned,
        lines=segment_lines(revision, unit, planned.curve),
        base=base,
        changed=[line for line in lines if line.kind != "same"],
    )
