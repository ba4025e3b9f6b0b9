"""Keeps for each firing when it holds its kiln, and refuses what would hold it twice.

Whoever books locks the kiln's row first (`kiln_take`), saves the firing, whose booking follows,
and then asks `booking_require_free`, all in one transaction: of two people who want the same time
in the same second one waits, and is told.
"""

import hashlib
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.timezone import localtime

from firings.models import Booking, CalendarFeed, Firing
from firings.models.booking import new_token
from firings.queries.booking import HOLDING, Clash, clash_of, held_by, out_of_service, unbooked
from firings.services.occupancy import Span
from studio.models import Kiln, Person

CLOCK = "%a %d %b, %H:%M"


class KilnTakenError(ValidationError):
    """Another firing holds the kiln at the wanted time; `clash` says which, and what is free."""

    def __init__(self, clash: Clash, field: str) -> None:
        self.clash = clash
        ends, free = clash.taken.ends, clash.free_at
        until = f"until {_clock(ends)}" if ends else "until somebody opens it"
        then = f" Free for this one from {_clock(free)}." if free else ""
        words = f"{clash.kiln} is taken {until}: {clash.title}, by {clash.who}.{then}"
        super().__init__({field: ValidationError(words, code="kiln_taken")})


def kiln_take(kiln: Kiln) -> Kiln:
    """The kiln with its row locked for this transaction; told why where it is out of service."""
    locked = Kiln.objects.select_for_update().get(pk=kiln.pk)
    if not locked.in_service:
        raise ValidationError({"kiln": ValidationError(out_of_service(locked), code="no_service")})
    return locked


def booking_require_free(*, firing: Firing, kiln: Kiln, field: str) -> None:
    """Raises `KilnTakenError` where another firing holds the kiln while this one does.

    `kiln` was taken in this transaction (`kiln_take`), and the firing is saved.
    """
    for other in unbooked(kiln):
        booking_follow(firing=other)
    booking = Booking.objects.filter(firing=firing, is_cancelled=False).first()
    if booking is None:
        return
    wanted = Span(booking.starts_at, booking.ends_at, booking.pk)
    clash = clash_of(kiln, wanted, but=firing)
    if clash is not None:
        raise KilnTakenError(clash, field)


@transaction.atomic
def booking_follow(*, firing: Firing) -> Booking | None:
    """The firing's booking as the firing stands now; None where it never had a time.

    A booking whose firing holds the kiln no more is cancelled, at the time that it had.
    """
    booking = Booking.objects.select_for_update().filter(firing=firing).first()
    span = held_by(firing, timezone.now())
    if span is None and booking is None:
        return None
    booking = booking or Booking(firing=firing)
    booking.kiln = firing.kiln
    booking.is_cancelled = span is None
    if span is not None:
        booking.starts_at, booking.ends_at = span.starts, span.ends
    told = _told(booking, firing)
    if told == booking.told:
        return booking
    if booking.told:
        booking.sequence += 1
    booking.told, booking.changed_at = told, timezone.now()
    booking.full_clean(validate_unique=False)
    booking.save()
    return booking


def booking_follow_soon(firing_pk: int) -> None:
    """Once what is being saved is sure: what is read of a firing moves the end of its booking."""

    def follow() -> None:  # not a partial: a robust callback is logged by its name
        firing = Firing.objects.filter(pk=firing_pk, state__in=HOLDING).first()
        if firing is not None:
            booking_follow(firing=firing)

    transaction.on_commit(follow, robust=True)


def kiln_bookings_follow_soon(kiln_pk: int) -> None:
    """Once it is sure that the kiln heats or cools otherwise than its bookings were made with."""

    def follow() -> None:
        firings = Firing.objects.filter(kiln=kiln_pk, state__in=HOLDING)
        related = firings.select_related("kiln__learnt_response", "revision__schedule", "fired_by")
        for firing in related.prefetch_related("revision__segments", "keyed_differences"):
            booking_follow(firing=firing)

    transaction.on_commit(follow, robust=True)


@transaction.atomic
def feed_make(
    *, by: Person, kiln: Kiln | None = None, person: Person | None = None
) -> CalendarFeed:
    """This person's own address for the bookings of a kiln, a person, or the studio; what they
    have already is given again."""
    Person.objects.select_for_update().get(pk=by.pk)
    feed = CalendarFeed.objects.filter(made_by=by, kiln=kiln, person=person).first()
    if feed is None:
        feed = CalendarFeed(made_by=by, kiln=kiln, person=person)
        feed.full_clean()
        feed.save()
    return feed


def feed_renew(*, feed: CalendarFeed) -> CalendarFeed:
    """The same feed at a new address; the old one leads nowhere from now on."""
    feed.token, feed.made_at = new_token(), timezone.now()
    feed.full_clean()
    feed.save(update_fields=["token", "made_at"])
    return feed


def _told(booking: Booking, firing: Firing) -> str:
    """Names all that a calendar is told of it."""
    told = [
        booking.starts_at.isoformat(),
        None if booking.ends_at is None else booking.ends_at.isoformat(),
        booking.is_cancelled,
        firing.kiln.name,
        firing.fired_by.name,
        firing.title,
        firing.revision.schedule.name,
        firing.state,
    ]
    return hashlib.blake2s(repr(told).encode(), digest_size=12).hexdigest()


def _clock(moment: datetime) -> str:
    return f"{localtime(moment):{CLOCK}}"
