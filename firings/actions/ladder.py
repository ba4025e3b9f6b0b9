"""Test series: a ladder of revisions made at one stroke, planned one after another, judged in a
row."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.timezone import localtime

from firings.actions.booking import kiln_take
from firings.actions.judging import fault_add, piece_judge
from firings.actions.load import piece_load
from firings.actions.photographs import photographs_add
from firings.actions.record import CLOCKS_DIFFER, firing_plan
from firings.advice_inputs import situation_of, step_limits
from firings.models import FiringState, Ladder, LoadedPiece, Rung, VerdictValue
from firings.queries.ladder_plan import LadderPlan, rung_spans, thought_rungs
from firings.queries.tuning import newest_revision
from firings.services.gates import structural_gate
from firings.services.top import find_top
from schedules.actions.revision import MovedOnError, revision_make
from schedules.core_inputs import core_segments, written_segments
from schedules.models import Revision, Schedule
from studio.models import GlassKind, Kiln, Person, ShelfPlace, Studio
from studio.pictures import PreparedPicture


@transaction.atomic
def ladder_make(
    *,
    schedule: Schedule,
    kiln: Kiln,
    by: Person,
    studio: Studio,
    plan: LadderPlan,
    name: str,
    reason: str,
    thickest_mm: float,
    glass: GlassKind | None = None,
    place: ShelfPlace | None = None,
    newest_seen: int,
) -> Ladder:
    """A series with a revision for each of its rungs, and a last one that is as the schedule stood:
    whoever fires it meanwhile is given no test.

    Raises `MovedOnError` where there is a newer revision than was seen, and `ValidationError` where
    heat work says nothing of the schedule in this kiln, or something rules a rung out.
    """
    schedule = Schedule.objects.select_for_update().get(pk=schedule.pk)
    newest = newest_revision(schedule)
    if newest.number != newest_seen:
        raise MovedOnError(newest)
    _refuse(plan, newest, kiln, by, studio)
    ladder = Ladder(
        schedule=schedule,
        kiln=kiln,
        name=name,
        reason=reason,
        glass=glass,
        thickest_mm=thickest_mm,
        place=place,
        varies=plan.varies,
        unit=newest.unit,
        first=plan.first,
        step=plan.step,
        begun_from=newest,
        made_by=by,
    )
    ladder.full_clean()
    ladder.save()
    for each, (value, written) in enumerate(
        zip(plan.values, plan.written(newest), strict=True), start=1
    ):
        told = f"Rung {each} of {plan.count} of the test series “{name}”: "
        made = revision_make(
            schedule=schedule,
            by=by,
            segments=written,
            unit=newest.unit,
            reason=f"{told}{ladder.in_words(value)}. {reason}"[:400],
            copied_from=newest,
            written_for=kiln,
        )
        rung = Rung(ladder=ladder, number=each, value=value, revision=made)
        rung.full_clean()
        rung.save()
    revision_make(
        schedule=schedule,
        by=by,
        segments=written_segments(newest),
        unit=newest.unit,
        reason=f"As revision {newest.number}: the rungs of the test series “{name}” are the "
        f"{plan.count} before this one.",
        copied_from=newest,
        written_for=newest.written_for,
    )
    return ladder


@transaction.atomic
def ladder_plan(
    *, ladder: Ladder, by: Person, starts_at: datetime, daily: bool = False
) -> list[Rung]:
    """A firing with its tile for each rung that has none, one after another from `starts_at` on:
    the next once the kiln is cool enough to open, and free; where `daily`, at the same time of day.

    Raises `ValidationError` for a closed series, where the kiln is out of service or never gets to
    a target, and what `firing_plan` raises.
    """
    kiln = kiln_take(ladder.kiln)
    ladder = Ladder.objects.select_for_update().get(pk=ladder.pk)
    _refuse_closed(ladder)
    if starts_at < timezone.now() - CLOCKS_DIFFER:
        now = localtime(timezone.now())
        words = f"That is over: now it is {now:%H:%M} on {now.day} {now:%b %Y}."
        raise ValidationError({"starts_at": words})
    rungs = rungs_to_plan(ladder)
    spans = rung_spans([each.revision for each in rungs], kiln, starts_at, daily=daily)
    if spans is None:
        raise ValidationError(
            {"starts_at": "Nobody can tell when the kiln would be free and cool for each rung."}
        )
    for rung, span in zip(rungs, spans, strict=True):
        firing = firing_plan(
            kiln=kiln,
            revision=rung.revision,
            fired_by=by,
            written_by=by,
            title=f"{ladder.name}, rung {rung.number}",
            planned_start=span.starts,
        )
        rung.loaded = piece_load(
            firing=firing,
            maker=by,
            title=f"{ladder.name} {rung.number}",
            is_served=True,
            glass=ladder.glass,
            thickest_mm=ladder.thickest_mm,
            thinnest_mm=ladder.thickest_mm,
            place=ladder.place,
            wanted=ladder.reason,
        )
        rung.save(update_fields=["loaded"])
    return rungs


def rungs_to_plan(ladder: Ladder) -> list[Rung]:
    """Those without a firing, or whose firing was called off."""
    rungs = ladder.rungs.select_related("revision__schedule__family", "loaded__firing")
    return [
        rung
        for rung in rungs.prefetch_related("revision__segments")
        if rung.loaded is None or rung.loaded.firing.state == FiringState.CALLED_OFF
    ]


@transaction.atomic
def rung_judge(
    *,
    loaded: LoadedPiece,
    by: Person,
    verdict: int | None,
    thickness_after_mm: float | None,
    faults: Iterable[str] = (),
    pictures: Sequence[PreparedPicture] = (),
    at: datetime | None = None,
) -> LoadedPiece:
    """What was seen on a tile beside the others: an ordinary verdict, given anew today.

    A fault that is noted already is left as it is. `at` is when it was seen, where that is not now.
    """
    judged = piece_judge(
        loaded=loaded,
        by=by,
        verdict=verdict,
        at=at,
        anew=True,
        thickness_after_mm=thickness_after_mm,
    )
    noted = set(judged.faults.values_list("kind", flat=True))
    for kind in faults:
        if kind not in noted:
            fault_add(loaded=judged, by=by, kind=kind, severity=2, seen_on=timezone.localdate(at))
    photographs_add(
        firing=judged.firing, by=by, pictures=pictures, loaded_piece=judged, added_at=at
    )
    return judged


@transaction.atomic
def rung_take(*, rung: Rung, by: Person, newest_seen: int) -> Revision:
    """The next revision of the schedule, as this rung was written. Raises as `revision_make`."""
    ladder = rung.ladder
    loaded = rung.loaded
    verdict = None if loaded is None else loaded.counted_verdict
    came = "not judged yet" if verdict is None else VerdictValue(verdict).label
    return revision_make(
        schedule=ladder.schedule,
        by=by,
        segments=written_segments(rung.revision),
        unit=rung.revision.unit,
        reason=f"Rung {rung.number} of the test series “{ladder.name}”, {rung.words}: {came}.",
        copied_from=rung.revision,
        written_for=ladder.kiln,
        newest_seen=newest_seen,
    )


@transaction.atomic
def ladder_close(*, ladder: Ladder) -> Ladder:
    """Put away; closed once already, it keeps its first date."""
    ladder = Ladder.objects.select_for_update().get(pk=ladder.pk)
    if ladder.closed_at is None:
        ladder.closed_at = timezone.now()
        ladder.save(update_fields=["closed_at"])
    return ladder


@transaction.atomic
def ladder_reopen(*, ladder: Ladder) -> Ladder:
    ladder = Ladder.objects.select_for_update().get(pk=ladder.pk)
    if ladder.closed_at is not None:
        ladder.closed_at = None
        ladder.save(update_fields=["closed_at"])
    return ladder


def _refuse_closed(ladder: Ladder) -> None:
    if ladder.closed_at is not None:
        raise ValidationError("This series is closed; open it again first.", code="closed")


def _refuse(plan: LadderPlan, newest: Revision, kiln: Kiln, by: Person, studio: Studio) -> None:
    situation = situation_of(newest, kiln)
    top = find_top(core_segments(newest))
    gate = structural_gate(situation, top, step_limits(studio, kiln, newest.unit))
    if gate is not None:
        words = render_to_string("firings/_reason.html", {"reason": gate.reasons[0], "user": by})
        raise ValidationError(f"A series would tell nothing here. {words.strip()}", code="gate")
    for rung in thought_rungs(plan, newest, kiln, by.unit):
        if rung.moves_top:
            why = "another segment of the schedule would be the highest."
            raise ValidationError({"first": f"Rung {rung.number}: {why}"})
        for line in rung.blocks:
            raise ValidationError({"first": f"Rung {rung.number}: {line.words}"})
