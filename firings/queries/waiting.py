"""The pieces that wait for a kiln, put into loads that can be fired together."""

from dataclasses import dataclass

from django.db.models import QuerySet

from firings.models import Firing, LoadedPiece, WaitingPiece
from firings.services.loading_together import (
    Shelf,
    TogetherLoad,
    Waiting,
    joining,
    loads_together,
)
from schedules.models import Process
from studio.models import ChamberShape, Kiln

MOST_FITTING = 20
TAKEN_OVER = ("glass", "layers", "thickest_mm", "thinnest_mm", "length_mm", "width_mm", "wanted")
"""What a piece brings from the list into a load."""


@dataclass(frozen=True)
class LoadWaiting:
    """Pieces that can be fired together, and the kilns that take all of them."""

    together: TogetherLoad
    process: str
    family: str
    pieces: list[WaitingPiece]
    kilns: list[Kiln]


def pieces_waiting() -> QuerySet[WaitingPiece]:
    return WaitingPiece.objects.filter(loaded=None, withdrawn_at=None).select_related(
        "piece__maker", "glass__family"
    )


def loads_waiting() -> list[LoadWaiting]:
    """All that wait; two queries."""
    waiting = {each.pk: each for each in pieces_waiting()}
    if not waiting:
        return []
    kilns = {kiln.pk: kiln for kiln in Kiln.objects.filter(in_service=True)}
    together = loads_together(
        (as_waiting(each) for each in waiting.values()), [shelf_of(k) for k in kilns.values()]
    )
    return [
        LoadWaiting(
            together=load,
            process=Process(load.process).label,
            family=waiting[_number(load.pieces[0])].glass.family.name,
            pieces=[waiting[_number(each)] for each in load.pieces],
            kilns=[kilns[kiln] for kiln in load.kilns if isinstance(kiln, int)],
        )
        for load in together
    ]


def would_fit(firing: Firing) -> list[WaitingPiece]:
    """What waits and could go into a planned firing's load: process, family, thickness, room; the
    most pressing of it.

    `firing` comes from `firing_for_page`. One query.
    """
    schedule = firing.revision.schedule
    alike = pieces_waiting().filter(
        process=schedule.process,
        glass__family=schedule.family_id,
        thickest_mm__range=(schedule.thinnest_mm, schedule.thickest_mm),
    )
    waiting = {each.pk: each for each in alike}
    lying = [_as_lying(each, firing) for each in firing.load.all() if each.thickest_mm]
    found = joining(lying, map(as_waiting, waiting.values()), shelf_of(firing.kiln))
    return [waiting[_number(each)] for each in found[:MOST_FITTING]]


def _as_lying(loaded: LoadedPiece, firing: Firing) -> Waiting:
    schedule = firing.revision.schedule
    return Waiting(
        piece=("lying", loaded.pk),
        process=schedule.process,
        family=loaded.glass.family_id if loaded.glass else schedule.family_id,
        thickest=loaded.thickest_mm or 0.0,
        since=firing.made_at,
        length=loaded.length_mm,
        width=loaded.width_mm,
    )


def as_waiting(piece: WaitingPiece) -> Waiting:
    return Waiting(
        piece=piece.pk,
        process=piece.process,
        family=piece.glass.family_id,
        thickest=piece.thickest_mm,
        since=piece.since,
        wanted_by=piece.wanted_by,
        length=piece.length_mm,
        width=piece.width_mm,
    )


def shelf_of(kiln: Kiln) -> Shelf:
    return Shelf(
        kiln.pk,
        kiln.chamber_width_mm,
        kiln.chamber_depth_mm,
        rectangular=kiln.chamber_shape == ChamberShape.BOX,
    )


def _number(piece: Waiting) -> int:
    assert isinstance(piece.piece, int)  # noqa: S101 — as `as_waiting` gave it
    return piece.piece
