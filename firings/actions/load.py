"""Puts pieces into a firing's load and takes them out again."""

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.actions.glass_use import layers_follow, load_give_back
from firings.models import Firing, FiringState, LoadedPiece, Piece
from studio.models import GlassKind, Person


@transaction.atomic
def piece_load(
    *,
    firing: Firing,
    maker: Person,
    title: str = "",
    piece: Piece | None = None,
    is_served: bool = False,
    other_glasses: Iterable[GlassKind] = (),
    by: Person | None = None,
    off_shelf: bool = False,
    count_up: bool = False,
    **facts: Any,
) -> LoadedPiece:
    """A piece in the load of a firing: a new one, or `piece`, which was fired before; `by` whom.

    The first piece of a load is the one that the schedule serves, and so is any that says so.
    `facts` are fields of `LoadedPiece`. Where `off_shelf`, its glass is taken off the shelf, as
    `layers_follow` does.
    """
    firing = Firing.objects.select_for_update().get(pk=firing.pk)
    if firing.state == FiringState.CALLED_OFF:
        raise ValidationError("This firing was called off; it takes no pieces.", code="state")
    if piece is None:
        piece = Piece(title=title, maker=maker)
        piece.full_clean()
        piece.save()
    serves = is_served or not firing.load.filter(is_served=True).exists()
    if serves:
        _serve_none(firing.pk)
    loaded = LoadedPiece(firing=firing, piece=piece, is_served=serves, **facts)
    if firing.state == FiringState.PLANNED:  # else it is written down afterwards
        loaded.put_in_by, loaded.put_in_at = by, timezone.now()
    loaded.full_clean()
    loaded.save()
    loaded.other_glasses.set(other_glasses)
    if by is not None:
        layers_follow(loaded=loaded, by=by, off_shelf=off_shelf, count_up=count_up)
    return loaded


def _serve_none(firing_id: int) -> None:
    for served in LoadedPiece.objects.filter(firing=firing_id, is_served=True):
        served.is_served = False
        served.save(update_fields=["is_served"])


@transaction.atomic
def piece_change(
    *,
    loaded: LoadedPiece,
    title: str,
    is_served: bool = False,
    other_glasses: Iterable[GlassKind] | None = None,
    by: Person | None = None,
    off_shelf: bool = False,
    count_up: bool = False,
    **facts: Any,
) -> LoadedPiece:
    """The loaded piece with other facts; a load that has pieces keeps one that is served.

    Without `other_glasses` those that it has are left as they are, and without `by` what it took
    off the shelf.
    """
    Firing.objects.select_for_update().get(pk=loaded.firing_id)
    loaded = LoadedPiece.objects.select_related("piece").get(pk=loaded.pk)
    if loaded.piece.title != title:
        loaded.piece.title = title
        loaded.piece.full_clean()
        loaded.piece.save()
    if is_served and not loaded.is_served:
        _serve_none(loaded.firing_id)
    elif loaded.is_served and not is_served:
        raise ValidationError(
            {"is_served": "One piece is the one the schedule serves; tick it at that piece."}
        )
    loaded.is_served = is_served
    for name, value in facts.items():
        setattr(loaded, name, value)
    loaded.full_clean()
    loaded.save()
    if other_glasses is not None:
        loaded.other_glasses.set(other_glasses)
    if by is not None:
        layers_follow(loaded=loaded, by=by, off_shelf=off_shelf, count_up=count_up)
    return loaded


@transaction.atomic
def piece_remove(*, loaded: LoadedPiece, by: Person) -> Firing:
    """The firing without this piece, whose glass is given back; one that is fired nowhere else
    goes altogether, unless it waits for a kiln, has steps, or has a label, which is stuck on.

    A judged piece stays: its verdict is part of what was learnt.
    """
    firing = Firing.objects.select_for_update().get(pk=loaded.firing_id)
    if loaded.verdict is not None or loaded.faults.exists():
        raise ValidationError("A judged piece stays in the record.", code="judged")
    load_give_back(loads=[loaded], by=by)
    was_served, piece = loaded.is_served, loaded.piece
    loaded.delete()
    waits = piece.waits.filter(withdrawn_at=None)
    is_kept = waits.exists() or piece.steps.exists() or hasattr(piece, "label")
    if not (piece.firings.exists() or is_kept):
        piece.delete()
    if was_served and (next_one := firing.load.order_by("pk").first()):
        next_one.is_served = True
        next_one.save(update_fields=["is_served"])
    return firing
