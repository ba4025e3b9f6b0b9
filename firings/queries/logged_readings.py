"""What loggers sent of running firings, few enough of it to draw and to watch by."""

from collections.abc import Sequence
from datetime import datetime

from django.db.models import Max, Q, QuerySet

from firings.models import Firing, LoggedReading

WATCHED_EVERY_S = 300
"""A kiln that runs away climbs by degrees in that time, and by less than a flicker in a second."""


def five_minutes_of(moment: datetime) -> int:
    return int(moment.timestamp()) // WATCHED_EVERY_S


def logged_of(firing: Firing) -> QuerySet[LoggedReading]:
    """All that was sent of the kiln since the firing's start, until its opening."""
    sent = LoggedReading.objects.filter(kiln_id=firing.kiln_id, at__gte=firing.started_at)
    return sent if firing.opened_at is None else sent.filter(at__lte=firing.opened_at)


def logged_so_far(firings: Sequence[Firing]) -> dict[int, list[LoggedReading]]:
    """Of each running firing the last reading of every five minutes, first to last, by one query;
    by the firing's number.
    """
    since = Q(pk__in=[])
    for firing in firings:
        if firing.started_at is not None:
            since |= Q(
                kiln_id=firing.kiln_id,
                five_minutes__gte=five_minutes_of(firing.started_at),  # by its index alone
                at__gte=firing.started_at,
            )
    latest = (
        LoggedReading.objects.filter(since)
        .order_by()
        .values("kiln", "five_minutes")
        .annotate(latest=Max("at"))
        .values("latest")
    )
    found: dict[int, list[LoggedReading]] = {firing.pk: [] for firing in firings}
    running = {firing.kiln_id: firing for firing in firings}
    for reading in LoggedReading.objects.filter(since, at__in=latest).order_by("at"):
        found[running[reading.kiln_id].pk].append(reading)
    return found
