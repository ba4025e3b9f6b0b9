"""A piece as its page shows it: what comes next first, and all that was done to it."""

from dataclasses import dataclass

from firings.models import LoadedPiece, Piece
from firings.queries.piece_now import PieceOnRecord, history_with_events, on_record
from firings.queries.pieces import firings_beside
from firings.queries.step_check import StepCheck, step_check
from firings.queries.steps import StepLine, next_of, steps_of_piece
from studio.models import Person


@dataclass(frozen=True)
class PiecePage:
    """`check` is of `to_fire`, the next step for which it goes into a kiln."""

    history: list[LoadedPiece]
    beside: list[int]
    steps: list[StepLine]
    record: PieceOnRecord
    to_fire: StepLine | None
    check: StepCheck | None

    @property
    def next(self) -> StepLine | None:
        return next_of(self.steps)


def piece_page(piece: Piece, reader: Person) -> PiecePage:
    history = list(history_with_events(piece, reader))
    steps = steps_of_piece(piece, {loaded.pk for loaded in history})
    record = on_record(history, [line.step for line in steps])
    to_fire = next((line for line in steps if line.may_be_fired), None)
    return PiecePage(
        history=history,
        beside=firings_beside(history),
        steps=steps,
        record=record,
        to_fire=to_fire,
        check=None if to_fire is None else step_check(to_fire.step, record, reader.unit),
    )
