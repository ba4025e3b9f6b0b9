"""What a person's calendar feeds are of; the bookings and wanted days that one of them gives."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery

from firings.models import Booking, CalendarFeed, PieceStep
from studio.models import Person
from studio.models.trail import records_of

BACK = timedelta(days=60)
MOST = 2000


@dataclass(frozen=True)
class WantedStep:
    """A step that is wanted by a day; `changes` counts what its trail has of it."""

    step: PieceStep
    changed_at: datetime
    changes: int


def feeds_of(person: Person) -> QuerySet[CalendarFeed]:
    return CalendarFeed.objects.filter(made_by=person).select_related("kiln", "person")


def feed_at(token: str) -> CalendarFeed | None:
    """The feed at an address, as long as whoever made it belongs to the studio."""
    feeds = CalendarFeed.objects.select_related("kiln", "person")
    return feeds.filter(token=token, made_by__is_active=True).first()


def bookings_of(feed: CalendarFeed, now: datetime) -> QuerySet[Booking]:
    """What ended in the last two months, is going on, or is to come."""
    rows = Booking.objects.filter(Q(ends_at=None) | Q(ends_at__gte=now - BACK))
    if feed.kiln_id is not None:
        rows = rows.filter(kiln=feed.kiln_id)
    if feed.person_id is not None:
        rows = rows.filter(firing__fired_by=feed.person_id)
    related = rows.select_related("kiln", "firing__fired_by", "firing__revision__schedule")
    return related.order_by("starts_at", "pk")[:MOST]


def wanted_in(feed: CalendarFeed) -> list[WantedStep]:
    """Of the maker of the feed, in the one that is of themselves: one query."""
    if feed.person_id is None or feed.person_id != feed.made_by_id:
        return []
    records = records_of(PieceStep)._base_manager.filter(id=OuterRef("pk")).order_by().values("id")
    steps = (
        PieceStep.objects.still_to_do()
        .filter(piece__maker=feed.person_id, wanted_by__isnull=False)
        .select_related("piece")
        .annotate(
            changed_at=Subquery(records.annotate(last=Max("history_date")).values("last")),
            changes=Subquery(records.annotate(count=Count("pk")).values("count")),
        )
        .order_by("wanted_by", "pk")
    )
    return [
        WantedStep(step, step.changed_at or step.made_at, step.changes or 0)
        for step in steps[:MOST]
    ]
