"""What other apps add to a schedule's page.

A schedule is written before anything is fired, so this app knows nothing of firings. Whoever does
registers a function here, as with `studio.access.relation_finder`; it is asked for each page,
with its reader.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from schedules.models import Schedule
from studio.models import Person


@dataclass(frozen=True)
class PagePart:
    """A card: its template, and what it shows, which the template reads as `part`.

    What is `at_top` stands above the curve.
    """

    template: str
    shows: Any
    at_top: bool = False


Finder = Callable[[Schedule, Person], PagePart | None]
_finders: list[Finder] = []


def schedule_part(find: Finder) -> Finder:
    """Register the function that gives a part of a schedule's page, or None to show nothing."""
    _finders.append(find)
    return find


def parts_of(schedule: Schedule, reader: Person) -> list[PagePart]:
    found = (find(schedule, reader) for find in _finders)
    return [part for part in found if part is not None]
