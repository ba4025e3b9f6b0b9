"""Bookings and wanted days as an iCalendar file (RFC 5545, with the names of RFC 7986).

Moments are in UTC, so that no reader has to know when a zone changes its clocks. An entry keeps its
UID for good; whatever changes of it raises its SEQUENCE, and what is called off says so. A wanted
day takes nobody's time, and leaves the calendar once its step is ended.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from firings.models import Booking, CalendarFeed, Firing, FiringState, Piece
from firings.queries.calendar_feeds import WantedStep

if TYPE_CHECKING:
    from icalendar import Event

MADE_BY = "-//Studio firing logbook//Bookings//EN"
WANTED_SPACE = UUID("0b5d5c1e-6a0f-4d0b-9a57-3d1a4be0a6c2")
"""The name space of the days' UIDs; drawn once, and kept for good."""
LOOK_AGAIN = timedelta(hours=1)
WHILE_UNKNOWN = timedelta(hours=24)
"""How long an entry is drawn from its start where nobody can tell when the kiln will be cool."""


def calendar_file(
    feed: CalendarFeed,
    studio: str,
    bookings: Iterable[Booking],
    wanted: Iterable[WantedStep],
    address_of: Callable[[Firing | Piece], str],
) -> bytes:
    """The feed's bookings and wanted days, each with its page's address."""
    from icalendar import Calendar  # a tenth of a second: for whoever asks for a calendar

    calendar = Calendar()
    calendar.add("prodid", MADE_BY)
    calendar.add("version", "2.0")
    calendar.add("name", f"{studio}: {feed.subject}")
    calendar.add("refresh-interval", LOOK_AGAIN, parameters={"VALUE": "DURATION"})
    for booking in bookings:
        calendar.add_component(_event(booking, address_of(booking.firing)))
    for each in wanted:
        calendar.add_component(_day_of(each, address_of(each.step.piece)))
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


def _day_of(wanted: WantedStep, address: str) -> Event:
    """Without the piece's name: whoever knows the feed's address reads it without signing in."""
    from icalendar import Event

    step = wanted.step
    event = Event()
    event.add("uid", str(uuid5(WANTED_SPACE, f"{step.pk} {_utc(step.made_at).isoformat()}")))
    event.add("dtstamp", _utc(wanted.changed_at))
    event.add("last-modified", _utc(wanted.changed_at))
    event.add("sequence", wanted.changes)
    event.add("dtstart", step.wanted_by)
    event.add("summary", f"Wanted: {step.get_kind_display()}")
    event.add("transp", "TRANSPARENT")
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
