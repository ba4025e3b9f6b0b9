"""What is to be told of the firings that run, to whom, and what somebody was told."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from firings.models import Firing, FiringState, Message, MessageWish
from firings.models.telling import Way
from firings.queries.watching import FiringNow
from firings.services.telling import Course, Kind, what_to_tell
from schedules.core_inputs import OPENING_C
from studio.models import Person

SHOWN_FOR = timedelta(hours=24)
LISTED = 30


@dataclass(frozen=True)
class News:
    """Something to tell of a firing: the moment and the temperature that it is about."""

    firing: Firing
    kind: Kind
    about_at: datetime
    temperature_c: float


def news_of(fire: FiringNow) -> list[News]:
    opening, standing = fire.opening, fire.standing
    peak_at = fire.peak_at
    opens_at = None if opening is None else opening.at
    read_at = fire.readings[-1].at if fire.readings else None
    course = Course(
        top=_seconds(fire.now, peak_at),
        opening=_seconds(fire.now, opens_at),
        standing=None if standing is None else standing.code,
        read=_seconds(read_at, fire.now),
    )
    about: dict[Kind, tuple[datetime | None, float]] = {
        "peak_near": (peak_at, fire.watch.plan.peak),
        "falls_behind": (read_at, 0.0 if standing is None else standing.noted.temperature),
        "cool_enough": (opens_at, OPENING_C),
    }
    found = []
    for kind in what_to_tell(course):
        about_at, temperature = about[kind]
        if about_at is not None:
            found.append(News(fire.firing, kind, about_at, temperature))
    return found


def _seconds(since: datetime | None, until: datetime | None) -> float | None:
    return None if since is None or until is None else (until - since).total_seconds()


def people_to_tell(firing: Firing) -> Iterable[tuple[Person, MessageWish]]:
    """Whoever fires it or wrote it down, and those who want to hear of everybody's firings."""
    own = Q(pk__in={firing.fired_by_id, firing.written_by_id})
    people = Person.objects.filter(
        own | Q(message_wish__of_everybody=True), is_active=True
    ).select_related("message_wish")
    for person in people:
        wish = getattr(person, "message_wish", None)
        yield person, wish or MessageWish(person=person)


def makers_to_tell(firing: Firing) -> Iterable[tuple[Person, MessageWish]]:
    """Whoever has a piece in it without a verdict, but whoever opened it."""
    unjudged = firing.load.filter(verdict=None).values("piece__maker")
    people = Person.objects.filter(pk__in=unjudged, is_active=True).exclude(
        pk=firing.opened_by_id or 0
    )
    for person in people.select_related("message_wish"):
        wish = getattr(person, "message_wish", None)
        yield person, wish or MessageWish(person=person)


def messages_for(person: Person, now: datetime) -> QuerySet[Message]:
    """Not seen yet, of the last day; of a kiln that was opened meanwhile nothing is news."""
    return Message.objects.filter(
        person=person,
        seen_at=None,
        told_at__gte=now - SHOWN_FOR,
        firing__state=FiringState.FIRING,
    ).select_related("firing__kiln", "firing__revision__schedule")


def way_of(wish: MessageWish, kind: Kind) -> Way:
    return Way(getattr(wish, kind))


def told_before(person: Person) -> QuerySet[Message]:
    """The latest that somebody was told, seen or not."""
    return Message.objects.filter(person=person).select_related(
        "firing__kiln", "firing__revision__schedule"
    )[:LISTED]
