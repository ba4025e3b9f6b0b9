"""A week of the studio: which kiln is taken by whom, from when until when."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import pairwise

from django.db.models import Q, QuerySet
from django.utils import timezone

from firings.models import Booking, FiringState, UnknownFiring
from firings.queries.booking import HOLDING
from firings.services.occupancy import Span, overlapping
from studio.days import midnight
from studio.models import Kiln

DAYS = 7
EARLIEST, LATEST = date(1970, 1, 5), date(9000, 1, 1)


@dataclass(frozen=True)
class DayEntry:
    """A booking as one day sees it."""

    booking: Booking
    ends_at: datetime | None
    """As booked; now where a kiln ought to be cool and was not opened yet."""
    begins: bool
    ends: bool
    is_clashing: bool

    @property
    def title(self) -> str:
        firing = self.booking.firing
        return firing.title or firing.revision.schedule.name

    @property
    def is_predicted(self) -> bool:
        return self.booking.firing.state in HOLDING


@dataclass(frozen=True)
class KilnDay:
    kiln: Kiln
    entries: list[DayEntry]
    unknown: list[UnknownFiring]
    """What was found running in it, and nobody knows what it is."""


@dataclass(frozen=True)
class CalendarDay:
    day: date
    is_today: bool
    kilns: list[KilnDay]

    @property
    def is_free(self) -> bool:
        return not any(each.entries or each.unknown for each in self.kilns)


@dataclass(frozen=True)
class Week:
    monday: date
    kilns: list[Kiln]
    days: list[CalendarDay]

    @property
    def sunday(self) -> date:
        return self.monday + timedelta(days=DAYS - 1)

    @property
    def before(self) -> date:
        return self.monday - timedelta(days=DAYS)

    @property
    def after(self) -> date:
        return self.monday + timedelta(days=DAYS)

    @cached_property
    def clashes(self) -> bool:
        return any(
            entry.is_clashing for day in self.days for each in day.kilns for entry in each.entries
        )


def week_of(day: date, now: datetime, kiln: Kiln | None = None) -> Week:
    """The week in which a day lies, by the studio's clock, of one kiln or of all."""
    day = min(max(day, EARLIEST), LATEST)
    monday = day - timedelta(days=day.weekday())
    starts = [midnight(monday + timedelta(days=number)) for number in range(DAYS + 1)]
    by_kiln: dict[int, list[Booking]] = defaultdict(list)
    for booking in _bookings_between(starts[0], starts[-1], now, kiln):
        by_kiln[booking.kiln_id].append(booking)
    found_running = list(UnknownFiring.objects.filter(closed_at=None, seen_at__lt=starts[-1]))
    kilns = [
        each
        for each in Kiln.objects.all()
        if (kiln is None and (each.in_service or each.pk in by_kiln)) or each == kiln
    ]
    clashing = {pk for each in kilns for pk in _clashing(by_kiln[each.pk], now)}
    days = [
        CalendarDay(
            start.date(),
            start.date() == timezone.localdate(now),
            [
                KilnDay(
                    each,
                    _entries(by_kiln[each.pk], start, end, now, clashing),
                    [
                        one
                        for one in found_running
                        if one.kiln_id == each.pk
                        and one.seen_at < end
                        and one.holds_until(now) > start
                    ],
                )
                for each in kilns
            ],
        )
        for start, end in pairwise(starts)
    ]
    return Week(monday, kilns, days)


def _bookings_between(
    start: datetime, end: datetime, now: datetime, kiln: Kiln | None
) -> QuerySet[Booking]:
    ends = Q(ends_at__gt=start)
    if start <= now:  # what was not opened yet, though it ought to be cool
        ends |= Q(ends_at=None) | Q(firing__state=FiringState.FIRING)
    rows = Booking.objects.filter(ends, starts_at__lt=end, is_cancelled=False)
    if kiln is not None:
        rows = rows.filter(kiln=kiln)
    return rows.select_related("firing__fired_by", "firing__revision__schedule")


def _entries(
    bookings: list[Booking], start: datetime, end: datetime, now: datetime, clashing: set[int]
) -> list[DayEntry]:
    found = []
    for booking in bookings:
        ends_at = _ends_at(booking, now)
        last = ends_at or now  # without an end it is shown as far as today
        if booking.starts_at < end and (last > start or booking.starts_at >= start):
            found.append(
                DayEntry(
                    booking,
                    ends_at,
                    begins=booking.starts_at >= start,
                    ends=ends_at is not None and ends_at <= end,
                    is_clashing=booking.pk in clashing,
                )
            )
    return found


def _clashing(bookings: list[Booking], now: datetime) -> frozenset[int]:
    return overlapping(
        Span(each.starts_at, _ends_at(each, now), each.pk)
        for each in bookings
        if each.firing.state in HOLDING
    )


def _ends_at(booking: Booking, now: datetime) -> datetime | None:
    if booking.ends_at is not None and booking.firing.state == FiringState.FIRING:
        return max(booking.ends_at, now)
    return booking.ends_at
