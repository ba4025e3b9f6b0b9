"""The steps of a piece as its page shows them, and what is wanted when."""

from collections.abc import Container, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from firings.models import (
    ENDED,
    MAY_BE_FIRED,
    LoadedPiece,
    Piece,
    PieceStep,
    StepStanding,
    WaitingPiece,
)
from firings.queries.visible import visible_pieces
from studio.access import ANY, NONE, OWN, TABLE, TAUGHT
from studio.models import Person
from studio.teaching import of_taught

SOON = timedelta(days=14)


@dataclass(frozen=True)
class StepLine:
    """A step in its order: `is_next` is the first that is not ended, and `first` what comes first
    where that is another one.

    `loaded` is the load that does it, None where the reader sees none.
    """

    step: PieceStep
    is_next: bool
    today: date
    loaded: LoadedPiece | None = None
    waits: bool = False
    goes_earlier: bool = False
    goes_later: bool = False
    first: "StepLine | None" = None

    @property
    def standing(self) -> str:
        return self.step.standing

    @property
    def is_ended(self) -> bool:
        return self.standing in ENDED

    @property
    def may_be_fired(self) -> bool:
        return not self.step.is_outside and self.standing in MAY_BE_FIRED

    @property
    def may_be_done(self) -> bool:
        """By hand: work outside a kiln, and a stopped firing that will do."""
        if self.step.is_outside:
            return not self.is_ended
        return self.standing == StepStanding.STOPPED

    @property
    def may_be_skipped(self) -> bool:
        return self.standing in MAY_BE_FIRED

    @property
    def may_be_repeated(self) -> bool:
        return self.standing in (StepStanding.DONE, StepStanding.STOPPED)

    @property
    def may_be_reopened(self) -> bool:
        return bool(self.step.skipped_because) or self.step.done_on is not None

    @property
    def days_late(self) -> int:
        """0 where it is not late."""
        by = self.step.wanted_by
        return 0 if by is None or self.is_ended else max((self.today - by).days, 0)

    @property
    def done_day(self) -> date | None:
        if self.step.done_on is not None or self.loaded is None:
            return self.step.done_on
        moment = self.loaded.firing.opened_at or self.loaded.firing.started_at
        return None if moment is None else timezone.localdate(moment)


def steps_of_piece(piece: Piece, seen: Container[int], today: date | None = None) -> list[StepLine]:
    """In their order: one query. `seen`: the numbers of the piece's loads that the reader sees."""
    steps = list(_of_piece(piece))
    return _lines(steps, seen, today or timezone.localdate())


def next_of(lines: Iterable[StepLine]) -> StepLine | None:
    return next((line for line in lines if line.is_next), None)


def step_to_fire(piece: Piece) -> PieceStep | None:
    """The next of a piece's steps for which it goes into a kiln."""
    lines = _lines(list(_of_piece(piece)), (), date.min)
    return next((line.step for line in lines if line.may_be_fired), None)


def steps_wanted(reader: Person, today: date | None = None) -> list[StepLine]:
    """All that is wanted by a day, what is late first; and what comes next of pieces for which no
    day is said, at the end. Own, an instructor's students', for a keeper and on a studio device
    all that are seen there: one query."""
    return _wanted(_of_whom(reader), today)


def own_steps_soon(person: Person, today: date | None = None) -> list[StepLine]:
    """One's own that are late, or wanted within two weeks: one query."""
    day = today or timezone.localdate()
    found = _wanted(Q(piece__maker=person), day)
    return [line for line in found if line.step.wanted_by and line.step.wanted_by <= day + SOON]


def _of_whom(reader: Person) -> Q:
    allowed = TABLE["step.see_wanted"].get(reader.role, NONE)
    if allowed == ANY:
        return Q(piece__in=visible_pieces(reader).order_by().values("pk"))
    found = Q(pk__in=[])
    if OWN in allowed:
        found |= Q(piece__maker=reader)
    if TAUGHT in allowed:
        found |= of_taught(reader, "piece__maker")
    return found


def _wanted(whose: Q, today: date | None) -> list[StepLine]:
    day = today or timezone.localdate()
    open_ones = _read(PieceStep.objects.still_to_do().filter(whose))
    lines: list[StepLine] = []
    for _, steps in groupby(open_ones.order_by("piece_id", "position", "pk"), _piece_of):
        of_piece = _lines(list(steps), (), day)
        dated = [line for line in of_piece if line.step.wanted_by is not None]
        lines += [
            line if line.is_next else replace(line, first=of_piece[0])
            for line in dated or of_piece[:1]
        ]
    return sorted(lines, key=_pressing)


def _pressing(line: StepLine) -> tuple[date, bool, int]:
    return line.step.wanted_by or date.max, not line.is_next, line.step.pk


def _piece_of(step: PieceStep) -> int:
    return step.piece_id


def _of_piece(piece: Piece) -> QuerySet[PieceStep]:
    return _read(PieceStep.objects.with_standing().filter(piece=piece)).order_by("position", "pk")


def _read(steps: QuerySet[PieceStep]) -> QuerySet[PieceStep]:
    """With what a line shows of them, and whether the piece waits for its firing."""
    waits = WaitingPiece.objects.filter(
        piece=OuterRef("piece"), process=OuterRef("kind"), loaded=None, withdrawn_at=None
    )
    return steps.select_related(
        "piece__maker", "schedule__family", "loaded__firing__kiln", "loaded__piece__maker"
    ).annotate(waits=Exists(waits))


def _lines(steps: list[PieceStep], seen: Container[int], today: date) -> list[StepLine]:
    still = [step for step in steps if step.standing not in ENDED]
    first, last = (still[0], still[-1]) if still else (None, None)
    return [
        StepLine(
            step=step,
            is_next=step is first,
            today=today,
            loaded=step.loaded if step.loaded_id in seen else None,
            waits=step.waits and step.standing in MAY_BE_FIRED,  # type: ignore[attr-defined]
            goes_earlier=step in still and step is not first,
            goes_later=step in still and step is not last,
        )
        for step in steps
    ]
