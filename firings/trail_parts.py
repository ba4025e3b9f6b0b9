"""What the trail of a firing is made of, and what is added to a kiln's; read by `studio.trails`.

What of it somebody sees follows the rights to its load, its pieces and their reviews.
"""

from typing import Any

from django.db.models import Q, QuerySet

from firings.models import (
    AlsoChanged,
    Comment,
    Fault,
    Firing,
    FiringEvent,
    KeyedDifference,
    KilnMeasurement,
    KilnPrice,
    Ladder,
    LoadedPiece,
    Photograph,
    Piece,
    PieceSpot,
    PieceStep,
    PlaceReading,
    PriceList,
    RecordingFile,
    Review,
    ReviewMark,
    SpotReading,
)
from firings.queries.visible import visible_pieces
from studio import access
from studio.models import KilnFurniture
from studio.models.trail import records_of
from studio.trails import TrailOf, TrailPart, itself, named_by, trail_of, trail_part

WORDS_OF_ITS_OWN = frozenset({"notes", "also_changed", "also_changed_note"})


def _of_firing(person: Any, firing: Any) -> Q:
    return Q(firing=firing)


def _of_price_list(person: Any, prices: Any) -> Q:
    return Q(price_list=prices)


def _loaded(person: Any, firing: Any) -> Q:
    """Pieces that were taken out again too, for those who see all of the load."""
    if access.may(person, "firing.see_load", firing):
        return Q(firing=firing)
    return Q(firing=firing, id__in=_seen(person, "piece.see", firing))


def _photographs(person: Any, firing: Any) -> Q:
    """Without those of its comments, which have rights of their own."""
    of_record = Q(firing=firing, in_conversation=False)
    if access.may(person, "firing.see_load", firing):
        return of_record
    return of_record & Q(loaded_piece__in=_seen(person, "piece.see", firing))


def _of_seen_pieces(person: Any, firing: Any) -> Q:
    return Q(loaded_piece__in=_seen(person, "piece.see", firing))


def _reviews(person: Any, firing: Any) -> Q:
    return Q(loaded_piece__in=_seen(person, "review.see", firing))


def _marks(person: Any, firing: Any) -> Q:
    reviews: QuerySet[Any] = records_of(Review)._base_manager.filter(_reviews(person, firing))
    return Q(review__in=reviews.values("id"))


def _comments(person: Any, firing: Any) -> Q:
    return Q(firing=firing) if access.may(person, "comment.read", firing) else Q(id__in=[])


def _seen(person: Any, act: str, firing: Firing) -> list[int]:
    pieces = firing.load.select_related("firing", "piece__maker").order_by()
    return [loaded.pk for loaded in pieces if access.may(person, act, loaded)]


def _measurements(person: Any, kiln: Any) -> Q:
    return Q(kiln=kiln)


def _place_readings(person: Any, kiln: Any) -> Q:
    """Those of measurements that were removed too."""
    kept: QuerySet[Any] = records_of(KilnMeasurement)._base_manager.filter(kiln=kiln)
    return Q(measurement__in=kept.values("id"))


def _of_schedule(person: Any, schedule: Any) -> Q:
    return Q(schedule=schedule)


def _words_of_a_kept_firing(person: Any, firing: Any) -> frozenset[str]:
    may_see = access.may(person, "firing.see_load", firing)
    return frozenset() if may_see else WORDS_OF_ITS_OWN


def _notes_of_a_kept_firing(person: Any, firing: Any) -> frozenset[str]:
    return frozenset() if access.may(person, "firing.see_load", firing) else frozenset({"note"})


def _of_piece(person: Any, piece: Any) -> Q:
    return Q(piece=piece)


def _lay_in_kept_loads(person: Any, piece: Any) -> bool:
    return not visible_pieces(person).filter(pk=piece.pk).exists()


named_by(Piece, "title")
named_by(LoadedPiece, "piece")
named_by(Review, "loaded_piece")
trail_of(
    "firing",
    TrailOf(
        Firing,
        "firing.see",
        "firings:firing_detail",
        "logbook",
        (
            TrailPart(
                Firing,
                itself,
                codes={"also_changed": dict(AlsoChanged.choices)},
                hides=_words_of_a_kept_firing,
            ),
            TrailPart(LoadedPiece, _loaded, "piece", ("piece",)),
            TrailPart(Fault, _of_seen_pieces, "fault", ("kind", "loaded_piece")),
            TrailPart(Review, _reviews, "review", ("loaded_piece",)),
            TrailPart(ReviewMark, _marks, "mark", ("criterion", "review")),
            TrailPart(Photograph, _photographs, "photograph", ("moment", "caption")),
            TrailPart(PieceSpot, _of_seen_pieces, "on a photograph", ("loaded_piece",)),
            TrailPart(RecordingFile, _of_firing, "recording", ("name",)),
            TrailPart(SpotReading, _of_firing, "reading", ("at",), hides=_notes_of_a_kept_firing),
            TrailPart(FiringEvent, _of_firing, "event", ("kind",), hides=_notes_of_a_kept_firing),
            TrailPart(Comment, _comments, "comment", ("said_by", "said_at")),
            TrailPart(KeyedDifference, _of_firing, "keyed otherwise", ("position", "part")),
        ),
    ),
)
trail_of(
    "piece",
    TrailOf(
        Piece,
        "piece.see",
        "firings:piece_detail",
        "logbook",
        (TrailPart(Piece, itself), TrailPart(PieceStep, _of_piece, "step", ("kind",))),
        is_kept_from=_lay_in_kept_loads,
    ),
)
trail_of(
    "furniture",
    TrailOf(
        KilnFurniture,
        "furniture.see",
        "firings:furniture_detail",
        "kilns",
        (TrailPart(KilnFurniture, itself),),
    ),
)
trail_of(
    "prices",
    TrailOf(
        PriceList,
        "prices.change",
        "firings:price_list",
        "people",
        (
            TrailPart(PriceList, itself),
            TrailPart(KilnPrice, _of_price_list, "price of a kiln", ("kiln",)),
        ),
        numbered=False,
    ),
)

trail_part(
    "kiln", TrailPart(KilnMeasurement, _measurements, "measured with", ("means", "measured_on"))
)
trail_part("kiln", TrailPart(PlaceReading, _place_readings, "reading at", ("place",)))
trail_part("schedule", TrailPart(Ladder, _of_schedule, "test series", ("name",)))
