"""Keeps each next-time note, with its forecast, as it was given."""

import hashlib
from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from firings.actions.forecast_scoring import forecasts_score
from firings.advice_inputs import past_firings, sitting_of
from firings.models import AdviceAction, Firing, FiringState, Forecast, LoadedPiece
from firings.queries.tuning import NextTimeNote, firings_of_schedule, newest_revision, note_of
from firings.recording_inputs import series_of
from schedules.models import Schedule
from studio.core_inputs import glass_of
from studio.models import Kiln, Studio

SAME = 1e-9
"""Of two chances that are the same to a reader, and to any rounding on the way."""


@transaction.atomic
def forecast_give(*, schedule: Schedule, kiln: Kiln, at: datetime | None = None) -> Forecast | None:
    """The forecast that stands for a schedule's next firing in a kiln, once its past was judged.

    It rests on what everybody may see: firings that are kept are scored, and give nothing to it.
    A new one is given where other verdicts, faults or figures of the top are noted of this kiln
    than the one before was given for; the one before stays. Scores are made anew. None where
    nothing is judged.

    `at` is when it is given, where that is not now; later firings must not be there yet.
    """
    schedule = Schedule.objects.select_for_update().get(pk=schedule.pk)
    firings = list(firings_of_schedule(schedule, None))
    past = past_firings(firings, glass_of(None, schedule.family))
    here = [firing for firing in firings if firing.kiln_id == kiln.pk]
    seen_by_all = [firing for firing in firings if not firing.is_private]
    judged = [firing for firing in here if _is_judged(firing) and not firing.is_private]
    standing = Forecast.objects.filter(revision__schedule=schedule, kiln=kiln).first()
    if judged and (standing is None or standing.inputs != _inputs(judged)):
        newest, known = newest_revision(schedule), judged[-1].kiln  # with what was learnt of it
        seen = {firing.pk for firing in seen_by_all}
        told = [each for each in past if each.firing in seen]
        note = note_of(newest, known, Studio.current(), seen_by_all, at, told)
        standing = _keep(note, judged[-1], _inputs(judged), at or timezone.now())
    forecasts_score(schedule=schedule, firings=here, past=past)
    return standing


def forecast_of(*, note: NextTimeNote, firing: Firing, at: datetime | None = None) -> Forecast:
    """The kept forecast of a note as somebody reads it on a firing's page.

    That is the standing one, unless what happened since (in another kiln, say) made it read
    otherwise: then it is given again, as it reads now.
    """
    standing = (
        Forecast.objects.filter(revision__schedule=note.newest.schedule_id, kiln=note.kiln)
        .exclude(note_taken__isnull=False)
        .first()
    )
    if standing is not None and _says(standing, note):
        return standing
    here = [each for each in note.firings.values() if each.kiln_id == note.kiln.pk]
    judged = [each for each in here if _is_judged(each)]
    return _keep(note, firing, _inputs(judged), at or timezone.now())


def forecast_soon(firing_pk: int) -> None:
    """Once what is being saved of an opened firing is sure, and once for all that is saved of it.

    What goes wrong there is logged, and spoils no saving.
    """
    found = (
        Firing.objects.filter(pk=firing_pk, state=FiringState.OPENED)
        .values_list("revision__schedule_id", "kiln_id")
        .first()
    )
    if found is None:
        return

    def give() -> None:
        schedule, kiln = Schedule.objects.get(pk=found[0]), Kiln.objects.get(pk=found[1])
        forecast_give(schedule=schedule, kiln=kiln)

    # A robust callback is logged by its name, and known by it among those that wait already.
    give.__qualname__ = f"forecast_give of schedule {found[0]} in kiln {found[1]}"
    waiting = transaction.get_connection().run_on_commit
    if all(getattr(each[1], "__qualname__", "") != give.__qualname__ for each in waiting):
        transaction.on_commit(give, robust=True)


def _is_judged(firing: Firing) -> bool:
    return any(loaded.counted_verdict is not None for loaded in firing.load.all())


def _inputs(judged: Sequence[Firing]) -> str:
    """Names all that was seen and noted of the judged firings in this kiln."""
    return hashlib.sha256(repr([_seen(firing) for firing in judged]).encode()).hexdigest()


def _seen(firing: Firing) -> list[object]:
    series = series_of(firing)
    return [
        firing.pk,
        firing.revision_id,
        firing.also_changed,
        [firing.recorded_peak_c, firing.recorded_hold_s],
        None if series is None else [series.peak_c, series.hold_s],
        [[each.position, each.part, each.value] for each in firing.keyed_differences.all()],
        sorted(event.kind for event in firing.events.all()),
        [_seen_of_piece(loaded) for loaded in firing.load.all()],
    ]


def _seen_of_piece(loaded: LoadedPiece) -> list[object]:
    faults = sorted((fault.kind, fault.severity) for fault in loaded.faults.all())
    told: list[object] = [loaded.pk, loaded.is_served, loaded.counted_verdict, loaded.place_id]
    told = [*told, faults] if loaded.reviewed_verdict is None else [*told, faults, "reviewed"]
    sitting = sitting_of(loaded)
    return told if sitting is None else [*told, repr(sitting)]


def _keep(note: NextTimeNote, firing: Firing, inputs: str, at: datetime) -> Forecast:
    advice = note.advice
    forecast = Forecast(
        firing=firing,
        revision=note.newest,
        kiln=note.kiln,
        action=AdviceAction(advice.action),
        peak_delta_c=advice.peak_change,
        hold_delta_s=advice.hold_change,
        chance_now=advice.chance_now,
        chance_then=advice.chance_then,
        chances_now=list(advice.chances_now),
        chances_then=list(advice.chances_then),
        given_at=at,
        inputs=inputs,
    )
    forecast.full_clean()
    forecast.save()
    forecast.rests_on.set([each.firing for each in note.rests_on])
    return forecast


def _says(forecast: Forecast, note: NextTimeNote) -> bool:
    advice = note.advice
    pairs = (
        (forecast.peak_delta_c, advice.peak_change),
        (forecast.hold_delta_s, advice.hold_change),
        (forecast.chance_now or 0.0, advice.chance_now or 0.0),
        (forecast.chance_then or 0.0, advice.chance_then or 0.0),
    )
    return (
        forecast.revision_id == note.newest.pk
        and forecast.action == advice.action
        and all(abs(kept - read) <= SAME for kept, read in pairs)
    )
