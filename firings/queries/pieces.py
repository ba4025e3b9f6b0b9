"""A piece over all of its firings."""

from collections.abc import Sequence

from django.db.models import F, Prefetch, QuerySet

from firings.models import FiringState, LoadedPiece, Piece
from firings.queries.crops import crops_of_all
from firings.queries.side_by_side import FEWEST, MOST
from firings.queries.visible import visible_load, visible_photographs
from studio.models import GlassFamily, GlassKind, Person


def history_of(piece: Piece, reader: Person) -> QuerySet[LoadedPiece]:
    """Each firing of a piece, the first one first, with its verdict, faults and photographs."""
    return (
        visible_load(reader)
        .filter(piece=piece)
        .select_related(
            "firing__kiln",
            "firing__revision__schedule",
            "glass__family",
            "lies_on",
            "place",
            "judged_by",
            "review__reviewed_by",
            "piece__maker",
        )
        .prefetch_related(
            "faults",
            "other_glasses",
            "review__marks__criterion",
            Prefetch("photographs", visible_photographs(reader).order_by("pk")),
            crops_of_all(),
        )
        .order_by(F("firing__started_at").asc(nulls_last=True), "firing_id")
    )


def other_family_of(piece: Piece, glass: GlassKind, but: int | None = None) -> GlassFamily | None:
    """The family as which a piece was loaded before, where this glass is of another one.

    A piece holds glass of one family for good: another one would crack it. `but` is the number of
    a `LoadedPiece` that doesn't count.
    """
    earlier = (
        piece.firings.exclude(pk=but or 0)
        .exclude(glass=None)
        .exclude(glass__family=glass.family_id)
        .select_related("glass__family")
        .first()
    )
    return earlier.glass.family if earlier is not None and earlier.glass is not None else None


def firings_beside(history: Sequence[LoadedPiece]) -> list[int]:
    """The numbers of a piece's latest firings, as many as can lie side by side; none for one."""
    latest = [loaded.firing_id for loaded in history[-MOST:]]
    return latest if len(latest) >= FEWEST else []


def was_fired(piece: Piece | None) -> bool:
    """Whether it lay in a load that was not called off; then its glass was taken for that one."""
    return (
        piece is not None and piece.firings.exclude(firing__state=FiringState.CALLED_OFF).exists()
    )
