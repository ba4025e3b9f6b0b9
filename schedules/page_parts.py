"""What other apps add to a schedule's page.

A schedule is written before anything is fired, so this app knows nothing of firings. Whoever does
registers a function here, as with `studio.access.relation_finder`; it is asked for each page.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from schedules.models import Schedule


@dataclass(frozen=True)
class PagePart:
    """A card: its template, and what it shows, which the template reads as `part`."""

    template: str
    shows: Any


_finders: list[Callable[[Schedule], PagePart | None]] = []


def schedule_part(
    find: Callable[[Schedule], PagePart | None],
) -> Callable[[Schedule], PagePart | None]:
    """Register the function that gives a part of a schedule's page, or None to show nothing."""
    _finders.append(find)
    return find


def parts_of(schedule: Schedule) -> list[PagePart]:
    found = (find(schedule) for find in _finders)
    return [part for part in found if part is not None]
