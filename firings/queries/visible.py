"""What a reader sees of loads and photographs: `firings.relations` as conditions of queries.

A firing's load can be kept by whoever fires it; pages read loads and photographs from here, with
their reader. Without a reader (None) it is the site that counts, and nothing is left out.
"""

from collections.abc import Iterable

from django.db.models import Exists, OuterRef, Q, QuerySet

from firings.models import Firing, Forecast, LoadedPiece, Photograph, Piece
from studio import access
from studio.access import EVERY, TABLE, eyes_of
from studio.models import Person
from studio.teaching import of_taught


def visible_load(reader: Person | None) -> QuerySet[LoadedPiece]:
    """Pieces of open firings, and of kept ones those of the reader and of whom they teach."""
    reader = eyes_of(reader)
    load = LoadedPiece.objects.all()
    if _sees_all(reader):
        return load
    assert reader is not None  # noqa: S101  `_sees_all` of None
    return load.filter(
        open_load(reader, "firing__") | Q(piece__maker=reader) | of_taught(reader, "piece__maker")
    )


def visible_photographs(reader: Person | None) -> QuerySet[Photograph]:
    """Of the record: those of open firings, those taken by the reader or of a piece of theirs."""
    reader = eyes_of(reader)
    photographs = Photograph.objects.all()
    if _sees_all(reader):
        return photographs
    assert reader is not None  # noqa: S101  as above
    return photographs.filter(
        open_load(reader, "firing__") | Q(taken_by=reader) | Q(loaded_piece__piece__maker=reader)
    )


def visible_pieces(reader: Person) -> QuerySet[Piece]:
    """All but those that lay in kept loads alone."""
    reader = eyes_of(reader)
    if _sees_all(reader):
        return Piece.objects.all()
    loaded = LoadedPiece.objects.filter(piece=OuterRef("pk"))
    seen = visible_load(reader).filter(piece=OuterRef("pk"))
    return Piece.objects.filter(Q(maker=reader) | ~Exists(loaded) | Exists(seen))


def visible_forecasts(reader: Person | None) -> QuerySet[Forecast]:
    """Those given by firings, and resting on firings, of which none is kept from this reader."""
    reader = eyes_of(reader)
    if _sees_all(reader):
        return Forecast.objects.all()
    rests_on = Forecast.rests_on.through.objects.filter(forecast=OuterRef("pk"))
    kept = rests_on.exclude(open_load(reader, "firing__"))
    return Forecast.objects.filter(open_load(reader, "firing__"), ~Exists(kept))


def open_load(reader: Person | None, firing: str = "") -> Q:
    """Firings whose load this reader sees whole; `firing` is the way to them, as “firing__”."""
    reader = eyes_of(reader)
    if _sees_all(reader):
        return Q()
    assert reader is not None  # noqa: S101  as above
    return (
        Q(**{f"{firing}is_private": False})
        | Q(**{f"{firing}fired_by": reader})
        | Q(**{f"{firing}written_by": reader})
        | of_taught(reader, f"{firing}fired_by")
    )


def is_kept_from(reader: Person | None, firing: Firing) -> bool:
    """Whether this firing's load is kept from this reader; `fired_by` comes with it."""
    if reader is None or not firing.is_private:
        return False
    return not access.may(reader, "firing.see_load", firing)


def as_seen_by(reader: Person | None, firing: Firing) -> Firing:
    """The same without the words that go with a kept load. A row to show, never to save.

    It comes from `firings_for_page`, with its events and readings.
    """
    if is_kept_from(reader, firing):
        firing.notes, firing.also_changed, firing.also_changed_note = "", [], ""
        for event in firing.events.all():
            event.note = ""
        for reading in firing.spot_readings.all():
            reading.note = ""
    return firing


def kept_among(reader: Person | None, firings: Iterable[Firing]) -> frozenset[int]:
    """The numbers of those kept from this reader: one query where any is private, else none."""
    reader = eyes_of(reader)
    private = [firing.pk for firing in firings if firing.is_private]
    if not private or _sees_all(reader):
        return frozenset()
    seen = Firing.objects.filter(open_load(reader), pk__in=private).values_list("pk", flat=True)
    return frozenset(private) - frozenset(seen)


def _sees_all(reader: Person | None) -> bool:
    return reader is None or TABLE["firing.see_load"].get(reader.role) == EVERY
