"""Pieces that wait for a kiln: put on the list, taken off it, and into a load together."""

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.actions.load import piece_load
from firings.actions.record import firing_plan, planned_locked
from firings.models import Firing, LoadedPiece, Piece, WaitingPiece
from firings.queries.waiting import TAKEN_OVER
from schedules.models import Revision
from studio.models import Kiln, Person


class NotWaitingError(ValidationError):
    """Somebody was quicker: the piece is in a load already, or was taken off the list."""


@transaction.atomic
def piece_wait(
    *, maker: Person, title: str = "", piece: Piece | None = None, **facts: Any
) -> WaitingPiece:
    """A piece on the list, a new one or one that was fired before; it can wait once at a time."""
    if piece is None:
        piece = Piece(title=title, maker=maker)
        piece.full_clean()
        piece.save()
    else:
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
    waiting = WaitingPiece(piece=piece, **facts)
    waiting.full_clean()
    waiting.save()
    return waiting


@transaction.atomic
def waiting_change(*, waiting: WaitingPiece, **facts: Any) -> WaitingPiece:
    locked = _locked([waiting.pk])[0]
    for name, value in facts.items():
        setattr(locked, name, value)
    locked.full_clean()
    locked.save()
    return locked


@transaction.atomic
def waiting_withdraw(*, waiting: WaitingPiece) -> WaitingPiece:
    locked = _locked([waiting.pk])[0]
    locked.withdrawn_at = timezone.now()
    locked.save(update_fields=["withdrawn_at"])
    return locked


@transaction.atomic
def waiting_load(
    *,
    waiting: Collection[int],
    kiln: Kiln,
    revision: Revision,
    by: Person,
    planned_start: datetime | None = None,
) -> Firing:
    """A planned firing with these pieces in its load; the first one is served by the schedule.

    All of them or none: raises `NotWaitingError` where one of them waits no longer, and
    `ValidationError` as planning does.
    """
    pieces = _locked(waiting)
    if not pieces:
        raise ValidationError("Tick at least one piece.", code="none")
    firing = firing_plan(
        kiln=kiln, revision=revision, fired_by=by, written_by=by, planned_start=planned_start
    )
    for each in pieces:
        _put_in(firing, each, by)
    return firing


@transaction.atomic
def waiting_put_in(
    *, firing: Firing, waiting: Collection[int], by: Person
) -> tuple[list[WaitingPiece], list[WaitingPiece]]:
    """Which of these pieces are in a planned firing's load now, and which waited no longer.

    `StateError` where the firing was started or called off meanwhile.
    """
    planned_locked(firing)
    put_in: list[WaitingPiece] = []
    gone: list[WaitingPiece] = []
    for each in _in_order(waiting):
        if _waits(each):
            _put_in(firing, each, by)
            put_in.append(each)
        else:
            gone.append(each)
    return put_in, gone


def waiting_follow(*, loaded: LoadedPiece) -> None:
    """A piece that is put into a load waits no longer, whoever put it there."""
    for waiting in WaitingPiece.objects.filter(
        piece=loaded.piece_id, loaded=None, withdrawn_at=None
    ):
        waiting.loaded = loaded
        waiting.save(update_fields=["loaded"])


def waiting_again(*, out_of: Iterable[LoadedPiece]) -> None:
    """What came out of a load unfired waits as before, unless it was put on the list anew."""
    for waiting in WaitingPiece.objects.filter(loaded__in=out_of):
        anew = WaitingPiece.objects.filter(piece=waiting.piece_id, loaded=None, withdrawn_at=None)
        if anew.exists():
            waiting.withdrawn_at = timezone.now()
        waiting.loaded = None
        waiting.save(update_fields=["loaded", "withdrawn_at"])


def _put_in(firing: Firing, waiting: WaitingPiece, by: Person) -> None:
    facts = {name: getattr(waiting, name) for name in TAKEN_OVER}
    piece_load(firing=firing, maker=waiting.piece.maker, piece=waiting.piece, by=by, **facts)


def _waits(waiting: WaitingPiece) -> bool:
    return waiting.loaded_id is None and waiting.withdrawn_at is None


def _locked(numbers: Collection[int]) -> list[WaitingPiece]:
    """All of them, waiting; `NotWaitingError` where one doesn't."""
    found = _in_order(numbers)
    gone = [each for each in found if not _waits(each)]
    if gone or len(found) != len(set(numbers)):
        names = ", ".join(f"“{each.piece}”" for each in gone) or "One of them"
        raise NotWaitingError("%(names)s waits no longer.", params={"names": names}, code="gone")
    return found


def _in_order(numbers: Collection[int]) -> list[WaitingPiece]:
    """Their rows, locked, in the order of the numbers."""
    found = (
        WaitingPiece.objects.select_for_update(of=("self",))
        .select_related("piece__maker", "glass")
        .filter(pk__in=numbers)
        .order_by("pk")
    )
    order = {number: place for place, number in enumerate(numbers)}
    return sorted(found, key=lambda each: order[each.pk])
