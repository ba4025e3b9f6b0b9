"""A planned firing while its shelf is loaded: who is in, and which firings are loaded now."""

import hashlib
from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils import timezone

from firings.models import Firing, FiringState, LoadedPiece, Piece
from firings.queries.piece_now import known_of
from firings.queries.steps import step_to_fire
from firings.queries.visible import visible_load
from firings.services.shelf_spots import nearest
from studio.models import Kiln, Person, ShelfPlace
from studio.queries.places import ShelfDrawing, SpotMark, shelf_drawing

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
    glass = known_of(piece, reader)[1].get("glass")
    if glass is not None:
        family = Q(revision__schedule__family=glass.family_id)
        offered = offered.filter(family | Q(revision__schedule__family=None))
    waiting = piece.waits.filter(loaded=None, withdrawn_at=None).first()
    step = step_to_fire(piece) if waiting is None else None
    process = waiting.process if waiting is not None else step.kind if step is not None else None
    if process is not None:
        offered = offered.filter(revision__schedule__process=process)
    return list(
        offered.select_related("kiln", "revision__schedule", "fired_by").order_by(
            F("planned_start").asc(nulls_last=True), "pk"
        )[:MOST_OFFERED]
    )


def shelf_to_tap(firing: Firing, pieces: Iterable[LoadedPiece]) -> ShelfDrawing | None:
    """The map of its kiln's shelf, with how many pieces lie at each place; None without places."""
    places = list(firing.kiln.places.all())
    if not places:
        return None
    lying: dict[int, list[str]] = defaultdict(list)
    for loaded in pieces:
        if loaded.place_id is not None:
            lying[loaded.place_id].append(loaded.piece.title)
    marks = {pk: SpotMark(str(len(titles)), "wanted") for pk, titles in lying.items()}
    says = "; ".join(f"{p.name}: {', '.join(lying.get(p.pk, ['nothing']))}" for p in places)
    return shelf_drawing(firing.kiln, places, marks=marks, says=f"The shelf from above. {says}.")


def place_tapped(kiln: Kiln, left: float, top: float) -> ShelfPlace | None:
    """The place nearest to a tap on the map of its shelf, by fractions of the drawing."""
    places = list(kiln.places.all())
    if not places:
        return None
    drawing = shelf_drawing(kiln, places)
    drawn = {n: (spot.x, spot.y) for n, spot in enumerate(drawing.spots)}
    return places[nearest(*drawing.point_at(left, top), drawn)]
