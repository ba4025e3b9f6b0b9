"""Puts pieces into a planned firing by their tickets, and says where on the shelf they lie."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from firings.actions.load import piece_load
from firings.actions.record import planned_locked
from firings.models import Firing, FiringState, LoadedPiece, Piece
from firings.queries.piece_now import known_of
from studio.models import GlassKind, Person, ShelfPlace


class NotPutInError(ValidationError):
    """Why a piece is not put into a load; `code` is "here", "elsewhere" or "family"."""


@transaction.atomic
def piece_scan(*, firing: Firing, piece: Piece, by: Person) -> LoadedPiece:
    """The piece in the load of a planned firing, as it waits or as it is now.

    Its row is locked: scanned in several places at once it goes into one load, once.
    `NotPutInError` where it lies in a load that was not opened yet, or holds glass of a family
    that the schedule is not written for; `StateError` where the firing is planned no more.
    """
    firing = planned_locked(firing)
    piece = Piece.objects.select_for_update(of=("self",)).select_related("maker").get(pk=piece.pk)
    lies = _lies_in(piece)
    if lies is not None:
        raise _lies_there(piece, lies, here=lies.firing_id == firing.pk)
    _, facts = known_of(piece, by)
    _refuse_other_family(firing, piece, facts)
    return piece_load(firing=firing, maker=piece.maker, piece=piece, by=by, **facts)


def _lies_in(piece: Piece) -> LoadedPiece | None:
    return (
        piece.firings.filter(firing__state__in=(FiringState.PLANNED, FiringState.FIRING))
        .select_related("firing__kiln", "firing__revision__schedule")
        .first()
    )


def _lies_there(piece: Piece, lies: LoadedPiece, *, here: bool) -> NotPutInError:
    if here:
        return NotPutInError(f"“{piece}” is in this load already.", code="here")
    firing = lies.firing
    called = firing.title or firing.revision.schedule.name
    return NotPutInError(
        f"“{piece}” is in another load: “{called}” in {firing.kiln}, which was not opened yet. "
        "Take it out there first.",
        code="elsewhere",
    )


def _refuse_other_family(firing: Firing, piece: Piece, facts: Mapping[str, Any]) -> None:
    family = firing.revision.schedule.family
    glass: GlassKind | None = facts.get("glass")
    if family is not None and glass is not None and glass.family_id != family.pk:
        raise NotPutInError(
            f"“{piece}” is of {glass.family}; this schedule is written for {family}. Not put in.",
            code="family",
        )


@transaction.atomic
def piece_place(*, loaded: LoadedPiece, place: ShelfPlace | None) -> LoadedPiece:
    """The piece at another place of its kiln's shelf; None where that is not known."""
    locked = LoadedPiece.objects.select_for_update(of=("self",)).get(pk=loaded.pk)
    if place is not None and place.kiln_id != locked.firing.kiln_id:
        raise ValidationError(f"“{place}” is a place of another kiln.", code="place")
    locked.place = place
    locked.save(update_fields=["place"])
    return locked
