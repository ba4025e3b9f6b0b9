"""Turns a piece's firings and the work between them into what the core reads."""

from collections.abc import Iterable
from datetime import date

from django.utils import timezone

from firings.models import EventKind, FiringState, LoadedPiece, OutsideWork, PieceStep
from firings.services.piece_now import STOPPED, PieceNow, Work


def works_of(history: Iterable[LoadedPiece], steps: Iterable[PieceStep]) -> list[Work]:
    """What was done to a piece, the first of it first; the key is the row that tells of it.

    `history` comes with its firings, their schedules and events; `steps` are those outside a kiln.
    On one day a kiln is opened before what came out is cut.
    """
    dated: list[tuple[date, int, Work]] = []
    for loaded in history:
        day = _day_opened(loaded)
        if day is not None:
            dated.append((day, 0, _of_firing(loaded)))
    dated += [
        (step.done_on, 1, _of_step(step))
        for step in steps
        if step.done_on is not None and step.kind in OutsideWork.values
    ]
    return [work for _, _, work in sorted(dated, key=lambda each: each[:2])]


def _day_opened(loaded: LoadedPiece) -> date | None:
    firing = loaded.firing
    moment = firing.opened_at or firing.started_at
    if firing.state != FiringState.OPENED or moment is None:
        return None
    return timezone.localdate(moment)


def _of_firing(loaded: LoadedPiece) -> Work:
    firing = loaded.firing
    stopped = any(event.kind == EventKind.STOPPED_EARLY for event in firing.events.all())
    return Work(
        process=STOPPED if stopped else firing.revision.schedule.process,
        key=loaded,
        laid=PieceNow(
            thickest=loaded.thickest_mm,
            thinnest=loaded.thinnest_mm,
            layers=loaded.layers,
            length=loaded.length_mm,
            width=loaded.width_mm,
        ),
        length_after=loaded.length_after_mm,
        width_after=loaded.width_after_mm,
        thickness_after=loaded.thickness_after_mm,
    )


def _of_step(step: PieceStep) -> Work:
    return Work(
        process=step.kind,
        key=step,
        length_after=step.length_after_mm,
        width_after=step.width_after_mm,
        thickness_after=step.thickness_after_mm,
    )
