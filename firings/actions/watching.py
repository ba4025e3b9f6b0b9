"""What follows from readings of a running firing: alarms, raised and answered."""

from collections.abc import Iterable
from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from firings.actions.spot_readings import spot_reading_add
from firings.actions.telling import runaway_mail
from firings.models import (
    AlarmAnswer,
    EventKind,
    Firing,
    FiringEvent,
    FiringState,
    RunawayAlarm,
)
from firings.queries.logged_readings import logged_of
from firings.queries.watching import ReadingSoFar, firing_now, running_firings
from studio.models import Person


@transaction.atomic
def alarm_follow(*, firing_id: int) -> RunawayAlarm | None:
    """The firing's open alarm, raised, moved to the latest reading, or withdrawn with its reading.

    Called after anything that was read of a running firing is saved or taken back.
    """
    if not Firing.objects.select_for_update().filter(pk=firing_id).exists():
        return None
    alarms = list(RunawayAlarm.objects.filter(firing_id=firing_id))
    standing_open = next((each for each in alarms if each.answered_at is None), None)
    firing = running_firings().filter(pk=firing_id).first()
    if firing is None:
        return standing_open
    now = firing_now(firing, timezone.now())
    standing = now.standing
    if standing is None or not standing.is_runaway:
        if standing_open is not None and not _still_read(firing, now.readings, standing_open):
            standing_open.delete()
            return None
        return standing_open
    last = now.readings[-1]
    if standing_open is None:
        if any(each.shown_at >= last.at for each in alarms):
            return None  # that very reading was answered
        standing_open = RunawayAlarm(firing=firing)
    standing_open.shown_at, standing_open.shown_c = last.at, last.temperature_c
    standing_open.ceiling_c = standing.ceiling or standing.planned
    is_new = standing_open.pk is None
    standing_open.full_clean()
    standing_open.save()
    if is_new:
        runaway_mail(alarm=standing_open)
    return standing_open


def alarm_watch(*, firing_id: int) -> RunawayAlarm | None:
    """As `alarm_follow`, for readings that come often: it locks nothing as long as all is well."""
    firing = running_firings().filter(pk=firing_id).first()
    if firing is None:
        return None
    standing = firing_now(firing, timezone.now()).standing
    open_alarms = RunawayAlarm.objects.filter(firing_id=firing_id, answered_at=None)
    if (standing is not None and standing.is_runaway) or open_alarms.exists():
        return alarm_follow(firing_id=firing_id)
    return None


def _still_read(firing: Firing, readings: Iterable[ReadingSoFar], alarm: RunawayAlarm) -> bool:
    noted = any(
        each.at == alarm.shown_at and each.temperature_c == alarm.shown_c for each in readings
    )
    sent = logged_of(firing).filter(at=alarm.shown_at, temperature_c=alarm.shown_c)
    return noted or sent.exists()


@transaction.atomic
def alarm_answer(*, alarm: RunawayAlarm, by: Person, answer: str) -> RunawayAlarm:
    """The alarm, answered; a kiln that was switched off is noted as stopped early."""
    locked = RunawayAlarm.objects.select_for_update(of=("self",)).get(pk=alarm.pk)
    if locked.answered_at is not None:
        return locked
    locked.answer, locked.answered_by = answer, by
    locked.answered_at = timezone.now()
    locked.full_clean()
    locked.save()
    firing = locked.firing
    if answer == AlarmAnswer.SWITCHED_OFF and firing.state == FiringState.FIRING:
        FiringEvent.objects.create(
            firing=firing,
            kind=EventKind.STOPPED_EARLY,
            happened_at=locked.answered_at,
            note="It went on heating by itself and was switched off.",
            noted_by=by,
        )
    return locked


@transaction.atomic
def power_cut_note(
    *, firing: Firing, by: Person, temperature_c: float, without_s: float
) -> FiringEvent:
    """A power cut that is just over, with what the display shows; the tuning leaves it out."""
    now = timezone.now()
    event = FiringEvent(
        firing=firing,
        kind=EventKind.POWER_CUT,
        happened_at=now - timedelta(seconds=without_s),
        minutes=round(without_s / 60),
        noted_by=by,
    )
    event.full_clean()
    event.save()
    # The minutes are rounded: the reading comes after them all the same.
    at = max(now, event.happened_at + timedelta(minutes=event.minutes or 0))
    spot_reading_add(firing=firing, by=by, at=at, temperature_c=temperature_c)
    return event
