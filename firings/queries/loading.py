"""A planned firing while its shelf is loaded: who is in, and which firings are loaded now."""

import hashlib
from datetime import timedelta

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils import timezone

from firings.models import Firing, FiringState, LoadedPiece, Piece
from firings.queries.pieces import facts_known
from firings.queries.visible import visible_load
from studio.models import Person

LOADED_LATELY = timedelta(hours=3)
"""Since a piece was put in: whoever loads a kiln is done with it in an afternoon."""
BEFORE_START, AFTER_START = timedelta(hours=12), timedelta(hours=24)
"""Around its planned start a firing is about to be loaded, and may be late."""
MOST_OFFERED = 3


def pieces_in(firing: Firing, reader: Person) -> QuerySet[LoadedPiece]:
    """In the order in which they were put in, as far as the reader sees them."""
    return (
        visible_load(reader)
        .filter(firing=firing)
        .select_related("piece__maker", "place", "put_in_by")
        .order_by("pk")
    )


def load_version(firing: Firing, reader: Person) -> str:
    """What the list of a load rests on, by one query; the same until something of it changes."""
    rows = list(
        pieces_in(firing, reader).values_list("pk", "piece__title", "place__name", "put_in_by")
    )
    return hashlib.sha256(repr((firing.state, rows)).encode()).hexdigest()[:24]


def firings_being_loaded(piece: Piece, reader: Person) -> list[Firing]:
    """Planned firings into which this piece can go now, the nearest first.

    Those into which a piece was put lately, and those that are about to start; of the family and
    the process of the piece, where these are known. None while it lies in a load.
    """
    now = timezone.now()
    in_a_load = piece.firings.filter(firing__state__in=(FiringState.PLANNED, FiringState.FIRING))
    if in_a_load.exists():
        return []
    lately = LoadedPiece.objects.filter(firing=OuterRef("pk"), put_in_at__gte=now - LOADED_LATELY)
    near = Q(planned_start__range=(now - AFTER_START, now + BEFORE_START))
    offered = Firing.objects.filter(Exists(lately) | near, state=FiringState.PLANNED)
    glass = facts_known(piece, reader).get("glass")
    if glass is not None:
        family = Q(revision__schedule__family=glass.family_id)
        offered = offered.filter(family | Q(revision__schedule__family=None))
    waiting = piece.waits.filter(loaded=None, withdrawn_at=None).first()
    if waiting is not None:
        offered = offered.filter(revision__schedule__process=waiting.process)
    return list(
        offered.select_related("kiln", "revision__schedule", "fired_by").order_by(
            F("planned_start").asc(nulls_last=True), "pk"
        )[:MOST_OFFERED]
    )
