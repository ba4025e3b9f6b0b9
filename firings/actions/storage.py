"""Puts finished pieces on a storage shelf, and notes how they left it."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.models import Piece, StayEnd, StoredPiece
from studio.models import Person


@transaction.atomic
def piece_store(
    *,
    piece: Piece,
    by: Person,
    place: str,
    keep_until: date | None = None,
    even_past: bool = False,
) -> StoredPiece:
    """It lies there now; where it lay already, it was moved, or is kept for longer."""
    piece = Piece.objects.select_for_update().get(pk=piece.pk)
    if keep_until is not None and keep_until < timezone.localdate() and not even_past:
        raise ValidationError({"keep_until": "That day is past: keep it until today or later."})
    stay = StoredPiece.objects.filter(piece=piece, ended_at=None).first()
    if stay is None:
        stay = StoredPiece(piece=piece, stored_by=by)
    stay.place, stay.keep_until = place, keep_until
    stay.full_clean()
    stay.save()
    return stay


@transaction.atomic
def stay_end(*, stay: StoredPiece, by: Person, how: str, to_whom: str = "") -> StoredPiece:
    """It left the shelf; told where somebody noted that already."""
    stay = StoredPiece.objects.select_for_update().get(pk=stay.pk)
    if stay.ended_at is not None:
        raise ValidationError(
            f"It left the shelf already: {stay.get_ended_how_display()}.", code="ended"
        )
    if how == StayEnd.HANDED_OVER and not to_whom:
        raise ValidationError({"to_whom": "Write to whom it is handed over."})
    stay.ended_how, stay.to_whom = how, to_whom
    stay.ended_by, stay.ended_at = by, timezone.now()
    stay.full_clean()
    stay.save()
    return stay


def stay_end_fired_again(*, piece: Piece, by: Person) -> None:
    """A piece that is loaded lies on no storage shelf."""
    for stay in StoredPiece.objects.filter(piece=piece, ended_at=None):
        stay_end(stay=stay, by=by, how=StayEnd.FIRED_AGAIN)
