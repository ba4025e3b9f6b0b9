"""What is on record of a piece as it is now: what its next load and its wait are filled in
with."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from firings.models import LoadedPiece, OutsideWork, Piece, PieceStep
from firings.piece_inputs import works_of
from firings.queries.pieces import history_of
from firings.queries.steps import step_to_fire
from firings.queries.waiting import TAKEN_OVER, pieces_waiting
from firings.services.piece_now import PieceNow, piece_now
from studio.models import GlassKind, Person

DECIMALS = 1
SIZES = ("thickest_mm", "thinnest_mm", "length_mm", "width_mm")


@dataclass(frozen=True)
class PieceOnRecord:
    """`now` is None where it was not fired yet; `last` is its last firing that the reader sees, or
    else the load in which it was last."""

    now: PieceNow | None
    last: LoadedPiece | None

    @property
    def glass(self) -> GlassKind | None:
        return None if self.last is None else self.last.glass

    @property
    def other_glasses(self) -> list[GlassKind]:
        return [] if self.last is None else list(self.last.other_glasses.all())

    @property
    def fused_by(self) -> LoadedPiece | None:
        """The firing that made it one piece."""
        since = None if self.now is None else self.now.one_piece_since
        return since if isinstance(since, LoadedPiece) else None

    @property
    def fused_on(self) -> date | None:
        """The day by which that firing is called."""
        moment = None if self.fused_by is None else self.fused_by.firing.started_at
        return None if moment is None else timezone.localdate(moment)

    @property
    def facts(self) -> dict[str, Any]:
        """As the forms of a load and of a wait have them; empty where nothing is known. What was
        not fired yet is as it was last written down."""
        if self.last is None:
            return {}
        if self.now is None:
            known = {name: getattr(self.last, name) for name in SIZES}
            return known | {"glass": self.glass, "layers": self.last.layers}
        sizes = (self.now.thickest, self.now.thinnest, self.now.length, self.now.width)
        known = {
            name: None if value is None else round(value, DECIMALS)
            for name, value in zip(SIZES, sizes, strict=True)
        }
        return known | {"glass": self.glass, "layers": self.now.layers}


def piece_on_record(piece: Piece, reader: Person) -> PieceOnRecord:
    return on_record(history_with_events(piece, reader), work_outside(piece))


def known_of(piece: Piece, reader: Person) -> tuple[PieceOnRecord | None, dict[str, Any]]:
    """What a load takes of a piece that goes into it: as it waits, or else as it is now, with what
    its next step wants; then also the record that this comes from."""
    waiting = pieces_waiting().filter(piece=piece).first()
    if waiting is not None:
        return None, {name: getattr(waiting, name) for name in TAKEN_OVER}
    record = piece_on_record(piece, reader)
    step = step_to_fire(piece)
    wanted = {} if step is None else {"wanted": step.wanted}
    others = {} if record.last is None else {"other_glasses": record.other_glasses}
    return record, record.facts | others | wanted


def on_record(history: Iterable[LoadedPiece], outside: Iterable[PieceStep]) -> PieceOnRecord:
    """The same of what was read already: with `history_with_events`, and the piece's steps."""
    history = list(history)
    fired = [loaded for loaded in history if loaded.firing.started_at is not None]
    last = next(reversed(fired or history), None)
    return PieceOnRecord(piece_now(works_of(history, outside)), last)


def history_with_events(piece: Piece, reader: Person) -> QuerySet[LoadedPiece]:
    return history_of(piece, reader).prefetch_related("firing__events")


def work_outside(piece: Piece) -> QuerySet[PieceStep]:
    """What was done outside a kiln, in its order."""
    return piece.steps.filter(kind__in=OutsideWork.values, done_on__isnull=False).order_by(
        "done_on", "position"
    )
