"""Puts past firings on record as a list has them, many at once.

Nothing follows from them: no message, forecast, booking or charge.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from firings.models import (
    BroughtFiring,
    Fault,
    Firing,
    FiringState,
    LoadedPiece,
    Piece,
)
from firings.queries.past import known_past
from firings.services.past.columns import COLUMNS
from firings.services.past.judge import PastJudge
from firings.services.past.known import NewFiring, NewRevision, Past, PastPiece
from schedules.actions.revision import revision_make
from schedules.actions.schedule import schedule_make
from schedules.models import Revision, Schedule
from studio.actions.brought_lists import rows_lock
from studio.lists import Tick
from studio.models import GlassFamily, Kiln, ListImport, Person
from studio.models.trail import rows_make
from studio.services.lists.columns import Column
from studio.services.lists.fates import Judged
from studio.services.lists.values import Reading

AT_ONCE = 500


class BroughtFirings:
    act = "firing.write_for_others"
    columns: tuple[Column, ...] = COLUMNS
    asks = frozenset({"unit", "day_first"})
    reasons = "firings/_past_reason_words.html"

    def known(self, by: Person) -> Past:
        return known_past(by)

    def judge(self, known: Past, reading: Reading) -> PastJudge:
        return PastJudge(known, reading, timezone.localtime().replace(tzinfo=None))

    def hold(self, rows: Sequence[Judged]) -> None:
        """As whoever notes a firing afterwards locks its kiln, and who revises the schedule."""
        plans: list[NewFiring] = [row.plan for row in rows]
        rows_lock(Kiln, {plan.kiln for plan in plans})
        keys = {plan.revision for plan in plans if isinstance(plan.revision, int)}
        rows_lock(
            Schedule, set(Revision.objects.filter(pk__in=keys).values_list("schedule", flat=True))
        )

    def write(self, rows: Sequence[Judged], *, taken: ListImport, reason: str, tick: Tick) -> None:
        past_firings_write(plans=[row.plan for row in rows], taken=taken, reason=reason, tick=tick)


@transaction.atomic
def past_firings_write(
    *, plans: Sequence[NewFiring], taken: ListImport, reason: str, tick: Tick
) -> None:
    """A firing for each that joins no other, with the pieces of all that join it.

    Judged beforehand (`firings.services.past`); schedules that they put on record are the person's
    who brings them in.
    """
    made = _revisions_make(plans, by=taken.by, reason=reason)
    firings: dict[int, Firing] = {}
    done = 0
    for first in range(0, len(plans), AT_ONCE):
        batch = plans[first : first + AT_ONCE]
        own = [plan for plan in batch if plan.joins is None]
        fresh = rows_make(
            [_firing(plan, made, taken.by) for plan in own], by=taken.by, reason=reason
        )
        BroughtFiring.objects.bulk_create(
            BroughtFiring(
                firing=firing,
                taken=taken,
                line=plan.line,
                knows_time=plan.knows_time,
                knows_opening=plan.opens is not None,
            )
            for plan, firing in zip(own, fresh, strict=True)
        )
        firings |= {plan.line: firing for plan, firing in zip(own, fresh, strict=True)}
        _pieces_make(batch, firings, by=taken.by, reason=reason)
        done += len(batch)
        tick(done)


def _revisions_make(
    plans: Sequence[NewFiring], *, by: Person, reason: str
) -> Mapping[NewRevision, int]:
    """By each revision that rows put on record, the key of its row."""
    new = dict.fromkeys(each.revision for each in plans if isinstance(each.revision, NewRevision))
    families = {family.name: family for family in GlassFamily.objects.all()} if new else {}
    schedules: dict[str, Schedule] = {}
    made: dict[NewRevision, int] = {}
    for each in sorted(new, key=lambda each: (each.schedule.casefold(), each.number)):
        why = f"Brought in: {reason}, line {each.line}."
        schedule = schedules.get(each.schedule)
        if schedule is None:
            schedule = schedules[each.schedule] = schedule_make(
                owner=by,
                name=each.schedule,
                process=each.process,
                family=families.get(each.family),
                thinnest_mm=each.thickness,
                thickest_mm=each.thickness,
                segments=each.segments,
                unit=each.unit,
                reason=why,
            )
            made[each] = schedule.revisions.latest().pk
        else:
            made[each] = revision_make(
                schedule=schedule, by=by, segments=each.segments, unit=each.unit, reason=why
            ).pk
    return made


def _firing(plan: NewFiring, made: Mapping[NewRevision, int], by: Person) -> Firing:
    revision = plan.revision
    starts = timezone.make_aware(plan.starts)
    firing = Firing(
        title=plan.title,
        kiln_id=plan.kiln,
        revision_id=revision if isinstance(revision, int) else made[revision],
        fired_by_id=plan.fired_by,
        written_by=by,
        state=FiringState.OPENED,
        started_at=starts,
        opened_at=_opened(plan, starts),
        opened_temperature_c=plan.opened,
        recorded_peak_c=plan.peak,
        recorded_hold_s=plan.hold,
        recorded_duration_s=plan.duration,
        energy_kwh=plan.energy,
        also_changed=list(plan.changed),
        also_changed_note=plan.changed_note,
        notes=plan.notes,
    )
    firing.clean_fields(exclude=["kiln", "revision", "fired_by", "written_by"])
    return firing


def _opened(plan: NewFiring, starts: datetime) -> datetime:
    """Where nobody noted it: at the end of the day on which it began, or of its noted duration."""
    if plan.opens is not None:
        return timezone.make_aware(plan.opens)
    end_of_day = timezone.make_aware(datetime.combine(plan.starts.date(), time(23, 59)))
    lasted = timedelta(seconds=max(plan.duration or 0, 60))
    return max(min(end_of_day, timezone.now()), starts + lasted)


def _pieces_make(
    plans: Sequence[NewFiring], firings: Mapping[int, Firing], *, by: Person, reason: str
) -> None:
    told: list[tuple[NewFiring, PastPiece]] = [
        (plan, piece) for plan in plans for piece in plan.pieces
    ]
    pieces = rows_make(
        [Piece(title=piece.title, maker_id=piece.maker) for _, piece in told],
        by=by,
        reason=reason,
    )
    loads = [
        _loaded(plan, told_of, piece, firings[plan.joins or plan.line])
        for (plan, told_of), piece in zip(told, pieces, strict=True)
    ]
    loads = rows_make(loads, by=by, reason=reason)
    faults: list[Any] = [
        Fault(
            loaded_piece=loaded,
            kind=kind,
            seen_on=plan.starts.date(),
            noted_by=by,
        )
        for (plan, piece), loaded in zip(told, loads, strict=True)
        for kind in piece.faults
    ]
    rows_make(faults, by=by, reason=reason)


def _loaded(plan: NewFiring, told: PastPiece, piece: Piece, firing: Firing) -> LoadedPiece:
    """Whose verdict it was nobody wrote down: it is the maker's, as any that no instructor gave."""
    loaded = LoadedPiece(
        firing=firing,
        piece=piece,
        glass_id=told.glass,
        layers=told.layers,
        thickest_mm=told.thickness,
        length_mm=told.length,
        width_mm=told.width,
        is_served=plan.joins is None and told is plan.pieces[0],
        verdict=told.verdict,
        judged_at=None if told.verdict is None else firing.opened_at,
    )
    loaded.clean_fields(exclude=["firing", "piece", "glass"])
    return loaded
