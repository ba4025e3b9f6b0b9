"""Who holds a kiln when, as far as it is booked, and when it is free again."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from firings.core_inputs import keyed_curve
from firings.models import Booking, Firing, FiringState, UnknownFiring
from firings.queries.watching import firing_now
from firings.services.occupancy import Span, first_overlap, next_free
from schedules.queries.opening import opening_of
from schedules.services.curve import Curve
from studio.models import Kiln

HOLDING = (FiringState.PLANNED, FiringState.FIRING)
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Clash:
    """Another firing holds the kiln at a wanted time; `free_at` is when this one could start
    instead, None while nobody can tell.

    `other` is None where the kiln is taken by what nobody wrote down.
    """

    kiln: Kiln
    taken: Span
    other: Firing | None
    free_at: datetime | None

    @property
    def who(self) -> str:
        return "somebody" if self.other is None else self.other.fired_by.name

    @property
    def title(self) -> str:
        if self.other is None:
            return "a firing that nobody wrote down"
        return self.other.title or self.other.revision.schedule.name


def held_by(firing: Firing, now: datetime) -> Span | None:
    """For how long a firing holds its kiln: until it can be opened, by the latest that is foretold.

    None where it has no time yet, was called off, or is planned to go where the kiln never gets.
    """
    if firing.state == FiringState.OPENED and firing.started_at and firing.opened_at:
        return Span(firing.started_at, firing.opened_at, firing.pk)
    if firing.state == FiringState.FIRING and firing.started_at:
        opening = firing_now(firing, now).opening
        ends = None if opening is None else opening.surely_at
        return Span(firing.started_at, _whole_minute(ends), firing.pk)
    if firing.state == FiringState.PLANNED and firing.planned_start:
        return span_of_plan(keyed_curve(firing), firing.planned_start, firing.pk)
    return None


def span_of_plan(curve: Curve, starts_at: datetime, key: int | None = None) -> Span | None:
    """For how long what is started then holds the kiln; None where the kiln never gets there."""
    opening = opening_of(curve)
    lasts = curve.duration if opening is None else opening.surely_after_s
    if lasts is None:
        return None
    ends = starts_at.astimezone(UTC) + timedelta(seconds=lasts)
    return Span(starts_at, _whole_minute(ends), key)


def taken_spans(kiln: Kiln, now: datetime, but: Firing | None = None) -> list[Span]:
    """When the kiln is taken by what is planned and what fires, one firing left out."""
    unknown = UnknownFiring.objects.filter(kiln=kiln, closed_at=None)
    return [
        *(_taken(booking, now) for booking in _holding(kiln, but)),
        *(Span(each.seen_at, each.holds_until(now)) for each in unknown),
    ]


def clash_of(
    kiln: Kiln, wanted: Span, now: datetime | None = None, but: Firing | None = None
) -> Clash | None:
    """What holds the kiln at the wanted time, or None where it is free."""
    now = now or timezone.now()
    taken = taken_spans(kiln, now, but)
    found = first_overlap(wanted, taken)
    if found is None:
        return None
    other = (
        Firing.objects.select_related("fired_by", "revision__schedule").get(pk=found.key)
        if found.key is not None
        else None
    )
    return Clash(kiln, found, other, _free_at(wanted, taken, now))


def out_of_service(kiln: Kiln) -> str:
    """That a kiln takes no firing, and what its service diary says of it last."""
    entry = kiln.service_entries.select_related("written_by").first()
    if entry is None:
        return f"{kiln} is out of service."
    who = entry.done_by or entry.written_by.name
    note = f": {entry.note.rstrip('.')}" if entry.note else ""
    return (
        f"{kiln} is out of service. Last in its diary: {entry.get_kind_display()}, "
        f"{entry.done_on:%d %b %Y}, by {who}{note}."
    )


def unbooked(kiln: Kiln) -> QuerySet[Firing]:
    """What holds the kiln and was written before bookings were kept."""
    return Firing.objects.filter(
        Q(state=FiringState.FIRING) | Q(state=FiringState.PLANNED, planned_start__isnull=False),
        kiln=kiln,
        booking=None,
    )


def _holding(kiln: Kiln, but: Firing | None) -> Iterator[Booking]:
    rows = Booking.objects.filter(
        kiln=kiln, is_cancelled=False, firing__state__in=HOLDING
    ).select_related("firing")
    return rows.exclude(pk=but.pk).iterator() if but and but.pk else rows.iterator()


def _taken(booking: Booking, now: datetime) -> Span:
    """As booked; a kiln that was not opened yet is still taken now."""
    ends = booking.ends_at
    if booking.firing.state == FiringState.FIRING and ends is not None:
        ends = max(ends, now)
    return Span(booking.starts_at, ends, booking.pk)


def _free_at(wanted: Span, taken: list[Span], now: datetime) -> datetime | None:
    if wanted.ends is None or wanted.ends <= wanted.starts:
        return None
    free = next_free(wanted.ends - wanted.starts, max(wanted.starts, now), taken)
    return _whole_minute(free)


def _whole_minute(moment: datetime | None) -> datetime | None:
    """The next one, as clocks and calendars are read."""
    if moment is None:
        return None
    whole = moment.replace(second=0, microsecond=0)
    return whole if whole == moment else whole + MINUTE
