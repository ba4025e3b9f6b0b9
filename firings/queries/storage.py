"""Finished pieces that wait on the storage shelves."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F, QuerySet
from django.utils import timezone

from firings.models import Piece, StoredPiece
from firings.queries.visible import visible_pieces
from studio.models import Person


@dataclass(frozen=True)
class Stay:
    """`days_left` until it need no longer be kept: below 0 it is overdue; None is for ever."""

    row: StoredPiece
    days_left: int | None

    @property
    def is_overdue(self) -> bool:
        return self.days_left is not None and self.days_left < 0


def stays(reader: Person, today: date | None = None) -> list[Stay]:
    """All that lie there and the reader may see, what is due first: one query."""
    pieces = visible_pieces(reader).order_by().values("pk")
    return _stays(_lying().filter(piece__in=pieces), today)


def stays_of(person: Person, today: date | None = None) -> list[Stay]:
    """Their own."""
    return _stays(_lying().filter(piece__maker=person), today)


def stays_overdue() -> int:
    return _lying().filter(keep_until__lt=timezone.localdate()).count()


def stays_of_piece(piece: Piece) -> QuerySet[StoredPiece]:
    """Where it lies, and where it lay."""
    return StoredPiece.objects.filter(piece=piece).order_by("-stored_at")


def _lying() -> QuerySet[StoredPiece]:
    rows = StoredPiece.objects.filter(ended_at=None).select_related("piece__maker", "stored_by")
    return rows.order_by(F("keep_until").asc(nulls_last=True), "stored_at", "pk")


def _stays(rows: QuerySet[StoredPiece], today: date | None) -> list[Stay]:
    today = today or timezone.localdate()
    return [
        Stay(row, None if row.keep_until is None else (row.keep_until - today).days) for row in rows
    ]
