"""Takes readings that loggers send, and packs them once their firing is opened.

A reading is a row from when it is acknowledged until the firing that it belongs to is opened, and
then stands in the firing's packed columns. Whoever moves rows into columns or back holds the row of
the kiln, so that none comes in meanwhile.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

import numpy as np
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from firings.actions.booking import booking_follow_soon
from firings.actions.record import CLOCKS_DIFFER
from firings.actions.recording import series_follow_loggers
from firings.actions.watching import alarm_watch
from firings.forms.sent_readings import Batch, Refusal, SentReading
from firings.models import Firing, FiringState, LoggedReading, LoggedSeries, LoggerToken
from firings.queries.logged_readings import five_minutes_of, logged_of
from firings.recording_inputs import logged_readings_of
from firings.services.recording import Recording
from firings.services.recording.gaps import gaps_of
from firings.services.recording.packing import pack
from studio.models import Kiln

KEPT_FOR = timedelta(days=30)
"""However long a reading waits for its firing, from when it came; older ones are not taken."""
MOST_A_MINUTE = 120
"""Batches of one token: two a second, where a display moves by less than a degree in ten."""
MINUTE = timedelta(minutes=1)


class TooOftenError(Exception):
    """A logger sent too often; `wait_s` until it may again."""

    def __init__(self, wait_s: int) -> None:
        self.wait_s = wait_s
        super().__init__(f"wait {wait_s} s")


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a batch: of each reading that it was kept, known already, or refused."""

    accepted: int
    known: int
    refused: list[Refusal]


def logged_readings_take(*, token: LoggerToken, batch: Batch) -> Taken:
    """Keeps the readings that are new; once it returns, they are on the disk.

    What follows of them comes after that, in transactions of its own. Raises `TooOftenError`.
    """
    taken, is_first = _take(token, batch)
    moments = [each.at for each in batch.readings]
    if moments:
        _followed(token.kiln_id, min(moments), max(moments), books=is_first)
    return taken


@transaction.atomic
def _take(token: LoggerToken, batch: Batch) -> tuple[Taken, bool]:
    """What became of the batch, and whether it is its token's first in a minute."""
    now = timezone.now()
    kiln = Kiln.objects.select_for_update().get(pk=token.kiln_id)
    is_first = _note_seen(token, now)
    refused, in_time = list(batch.refused), []
    for reading in batch.readings:
        if reading.at > now + CLOCKS_DIFFER:
            refused.append(Refusal(reading.index, "time_in_the_future"))
        elif reading.at < now - KEPT_FOR:
            refused.append(Refusal(reading.index, "time_too_long_ago"))
        else:
            in_time.append(reading)
    stands = _standing(kiln, [each.at for each in in_time])
    new: list[SentReading] = []
    known = 0
    for reading in in_time:
        if reading.at not in stands:
            stands[reading.at] = reading.temperature_c
            new.append(reading)
        elif stands[reading.at] == reading.temperature_c:
            known += 1
        else:
            refused.append(Refusal(reading.index, "conflict", stands[reading.at]))
    _keep(kiln, [(each.at, each.temperature_c) for each in new])
    taken = Taken(len(new), known, sorted(refused, key=lambda each: each.index))
    return taken, is_first


def _note_seen(token: LoggerToken, now: datetime) -> bool:
    """Counts the batches of a minute, and tells its first, with which what waited too long goes."""
    token = LoggerToken.objects.select_for_update().get(pk=token.pk)
    since = None if token.minute_began_at is None else now - token.minute_began_at
    if since is None or not timedelta(0) <= since < MINUTE:
        token.minute_began_at, token.sent_in_minute = now, 0
        _let_go(token.kiln_id, now)
    elif token.sent_in_minute >= MOST_A_MINUTE:
        raise TooOftenError(ceil((MINUTE - since).total_seconds()))
    token.last_seen_at = now
    token.sent_in_minute += 1
    token.save(update_fields=["last_seen_at", "minute_began_at", "sent_in_minute"])
    return token.sent_in_minute == 1


def _let_go(kiln_id: int, now: datetime) -> None:
    """Readings that no firing claimed; those of one that runs stay, however long it does."""
    old = LoggedReading.objects.filter(kiln_id=kiln_id, received_at__lt=now - KEPT_FOR)
    running = Firing.objects.filter(kiln_id=kiln_id, state=FiringState.FIRING).first()
    if running is not None:
        old = old.filter(at__lt=running.started_at)
    old.delete()


def _standing(kiln: Kiln, moments: Sequence[datetime]) -> dict[datetime, float]:
    """What is known for these moments, as rows or packed."""
    if not moments:
        return {}
    rows = LoggedReading.objects.filter(kiln=kiln, at__in=moments)
    stands = dict(rows.order_by().values_list("at", "temperature_c"))
    for logged in LoggedSeries.objects.filter(
        kiln=kiln, begins_at__lte=max(moments), ends_at__gte=min(moments)
    ):
        stands |= logged_readings_of(logged)
    return stands


def _keep(kiln: Kiln, readings: Iterable[tuple[datetime, float]]) -> None:
    now = timezone.now()
    LoggedReading.objects.bulk_create(
        [
            LoggedReading(
                kiln=kiln,
                at=at,
                temperature_c=celsius,
                five_minutes=five_minutes_of(at),
                received_at=now,
            )
            for at, celsius in readings
        ],
        ignore_conflicts=True,
    )


def _followed(kiln_id: int, first: datetime, last: datetime, *, books: bool) -> None:
    """A running kiln is watched by what came, and `books` its opening anew; what came late goes to
    the firing that it is of."""
    firings = Firing.objects.filter(
        kiln_id=kiln_id,
        state__in=[FiringState.FIRING, FiringState.OPENED],
        started_at__lte=last,
    ).filter(Q(opened_at=None) | Q(opened_at__gte=first))
    for firing in firings:
        if firing.state == FiringState.FIRING:
            alarm_watch(firing_id=firing.pk)
            if books:
                booking_follow_soon(firing.pk)
        else:
            logged_readings_pack(firing=firing)


@transaction.atomic
def logged_readings_pack(*, firing: Firing) -> LoggedSeries | None:
    """What loggers sent of an opened firing, packed; its series follows, and the rows are gone.

    Of a firing that turned out to be of another kiln, what was sent of the first one goes back.
    Called after an opened firing is saved; one that it finds nothing for stays as it is.
    """
    firing = Firing.objects.select_for_update().get(pk=firing.pk)
    kilns = LoggedSeries.objects.filter(firing_id=firing.pk).values_list("kiln_id", flat=True)
    list(Kiln.objects.select_for_update().filter(pk__in={firing.kiln_id, *kilns}).order_by("pk"))
    logged = LoggedSeries.objects.filter(firing_id=firing.pk).first()
    rows = logged_of(firing)
    sent = dict(rows.order_by().values_list("at", "temperature_c"))
    if logged is not None and logged.kiln_id != firing.kiln_id:
        _keep(logged.kiln, logged_readings_of(logged).items())
        logged.delete()
        logged = None
    elif not sent:
        return logged
    if sent:
        logged = _packed(firing, sent | ({} if logged is None else logged_readings_of(logged)))
        rows.delete()
    series_follow_loggers(firing=firing)
    return logged


def _packed(firing: Firing, readings: dict[datetime, float]) -> LoggedSeries:
    moments = sorted(readings)
    begins_at = moments[0]
    times = np.array([(each - begins_at).total_seconds() for each in moments])
    recording = Recording(
        times,
        np.array([readings[each] for each in moments]),
        begins_at,
        gaps=gaps_of(times),
    )
    logged, _ = LoggedSeries.objects.update_or_create(
        firing=firing,
        defaults={
            "kiln_id": firing.kiln_id,
            "packed": pack(recording),
            "begins_at": begins_at,
            "ends_at": moments[-1],
            "count": len(moments),
        },
    )
    return logged
