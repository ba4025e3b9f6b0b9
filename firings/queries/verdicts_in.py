"""Verdicts that came in lately, each a reason to look at its schedule again."""

from datetime import datetime, timedelta

from django.db.models import Q

from firings.models import LoadedPiece
from firings.queries.brought import logged_here
from firings.queries.visible import visible_load
from studio.models import Person

LATELY = timedelta(days=30)
MOST_READ, MOST_SHOWN = 40, 5


def verdicts_in(person: Person, now: datetime) -> list[LoadedPiece]:
    """The latest verdict on each schedule that is this person's, by its piece, firing or itself.

    The latest first; of pieces that their schedule serves. One query.
    """
    mine = (
        Q(piece__maker=person)
        | Q(firing__fired_by=person)
        | Q(firing__revision__schedule__owner=person)
    )
    judged = (
        visible_load(person)
        .filter(
            mine,
            logged_here("firing__"),
            is_served=True,
            verdict__isnull=False,
            judged_at__gte=now - LATELY,
        )
        .select_related("piece", "firing__kiln", "firing__revision__schedule")
        .order_by("-judged_at", "-pk")[:MOST_READ]
    )
    latest: dict[int, LoadedPiece] = {}
    for loaded in judged:
        latest.setdefault(loaded.firing.revision.schedule_id, loaded)
    return list(latest.values())[:MOST_SHOWN]
