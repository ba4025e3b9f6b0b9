"""A person's pieces over time: verdicts, faults, marks, agreement."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet
from django.utils.timezone import localdate

from firings.models import FaultKind, Firing, FiringState, LoadedPiece
from firings.services.agreement import Agreement, agreement
from studio.models import Person

RECUR_FROM = 2


def pieces_of(person: Person) -> QuerySet[LoadedPiece]:
    """Out of opened firings, the latest first, with all that a page of progress shows."""
    pieces = LoadedPiece.objects.filter(piece__maker=person, firing__state=FiringState.OPENED)
    return with_outcomes(pieces).order_by("-firing__opened_at", "-pk")


def with_outcomes(pieces: QuerySet[LoadedPiece]) -> QuerySet[LoadedPiece]:
    """Pieces with their firings, verdicts, faults, reviews and marks: four queries."""
    return pieces.select_related(
        "piece__maker",
        "firing__kiln",
        "firing__fired_by",
        "firing__revision__schedule",
        "glass",
        "judged_by",
        "review__reviewed_by",
    ).prefetch_related("faults", "review__marks__criterion")


@dataclass(frozen=True)
class MarkLine:
    """One criterion over time: its marks with the days of the openings, the first one first."""

    name: str
    marks: list[tuple[date, int]]

    @property
    def mean(self) -> float:
        return sum(mark for _, mark in self.marks) / len(self.marks)

    @property
    def lately(self) -> float:
        """The mean of the latest three."""
        latest = self.marks[-3:]
        return sum(mark for _, mark in latest) / len(latest)


@dataclass(frozen=True)
class Progress:
    """`pieces` come the latest first."""

    person: Person
    pieces: list[LoadedPiece]
    fired: int
    agreement: Agreement | None
    marks: list[MarkLine]
    recurring: list[tuple[str, int]]

    @property
    def judged(self) -> int:
        return sum(each.verdict is not None for each in self.pieces)

    @property
    def reviewed(self) -> int:
        return sum(hasattr(each, "review") for each in self.pieces)

    @property
    def in_order(self) -> list[LoadedPiece]:
        """The first one first."""
        return self.pieces[::-1]


def progress_of(person: Person) -> Progress:
    pieces = list(pieces_of(person))
    pairs = [
        (each.verdict, each.reviewed_verdict)
        for each in pieces
        if each.verdict is not None and each.reviewed_verdict is not None
    ]
    marks: dict[str, list[tuple[date, int]]] = defaultdict(list)
    for each in reversed(pieces):
        review = getattr(each, "review", None)
        for mark in review.marks.all() if review else ():
            marks[mark.criterion.name].append((localdate(each.firing.opened_at), mark.mark))
    seen = Counter(kind for each in pieces for kind in {fault.kind for fault in each.faults.all()})
    return Progress(
        person=person,
        pieces=pieces,
        fired=Firing.objects.filter(fired_by=person, state=FiringState.OPENED).count(),
        agreement=agreement(pairs),
        marks=[MarkLine(name, given) for name, given in marks.items()],
        recurring=[
            (FaultKind(kind).label, count)
            for kind, count in seen.most_common()
            if count >= RECUR_FROM
        ],
    )
