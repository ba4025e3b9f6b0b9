"""Bookings as an iCalendar file (RFC 5545, with the names of RFC 7986).

Moments are in UTC, so that no reader has to know when a zone changes its clocks. An entry keeps its
UID for good; whatever changes of it raises its SEQUENCE, and what is called off says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from firings.models import Booking, CalendarFeed, Firing, FiringState

if TYPE_CHECKING:
    from icalendar import Event

MADE_BY = "-//Studio firing logbook//Bookings//EN"
LOOK_AGAIN = timedelta(hours=1)
WHILE_UNKNOWN = timedelta(hours=24)
"""How long an entry is drawn from its start where nobody can tell when the kiln will be cool."""


def calendar_file(
    feed: CalendarFeed,
    studio: str,
    bookings: Iterable[Booking],
    address_of: Callable[[Firing], str],
) -> bytes:
    """The feed's bookings, each with its page's address."""
    from icalendar import Calendar  # a tenth of a second: for whoever asks for a calendar

    calendar = Calendar()
    calendar.add("prodid", MADE_BY)
    calendar.add("version", "2.0")
    calendar.add("name", f"{studio}: {feed.subject}")
    calendar.add("refresh-interval", LOOK_AGAIN, parameters={"VALUE": "DURATION"})
    for booking in bookings:
        calendar.add_component(_event(booking, address_of(booking.firing)))
    return calendar.to_ical()


def _event(booking: Booking, address: str) -> Event:
    from icalendar import Event

    firing = booking.firing
    title = firing.title or firing.revision.schedule.name
    state = FiringState(firing.state).label
    event = Event()
    event.add("uid", str(booking.uid))
    event.add("dtstamp", _utc(booking.changed_at))
    event.add("last-modified", _utc(booking.changed_at))
    event.add("sequence", booking.sequence)
    event.add("dtstart", _utc(booking.starts_at))
    event.add("dtend", _utc(booking.ends_at or booking.starts_at + WHILE_UNKNOWN))
    event.add("summary", f"{booking.kiln.name}: {title}")
    event.add("location", booking.kiln.name)
    event.add("description", f"{firing.fired_by.name}, {state}. {_until(booking)}")
    event.add("status", "CANCELLED" if booking.is_cancelled else "CONFIRMED")
    event.add("url", address)
    return event


def _until(booking: Booking) -> str:
    if booking.firing.state == FiringState.OPENED:
        return "It ends with the opening."
    if booking.ends_at is None:
        return "Nobody can tell yet when it will be cool enough to open."
    return "It ends when the kiln should be cool enough to open, by calculation."


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(microsecond=0)
