"""What a person's calendar feeds are of, and the bookings that one of them gives."""

from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from firings.models import Booking, CalendarFeed
from studio.models import Person

BACK = timedelta(days=60)
MOST = 2000


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
