"""A student's pieces over time, and what a class fired: verdicts, faults, marks, agreement."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Prefetch, Q, QuerySet
from django.utils import timezone

from firings.models import FaultKind, Firing, FiringState, LoadedPiece, Moment, Photograph
from firings.queries.review import FaultShared, faults_shared
from firings.services.agreement import Agreement, agreement
from studio.models import Person, TeachingClass

MOST_FIRINGS = 60
RECUR_FROM = 2


def pieces_of(person: Person) -> QuerySet[LoadedPiece]:
    """Out of opened firings, the latest first, with all that a page of progress shows."""
    return (
        LoadedPiece.objects.filter(piece__maker=person, firing__state=FiringState.OPENED)
        .select_related(
            "piece__maker",
            "firing__kiln",
            "firing__fired_by",
            "firing__revision__schedule",
            "glass",
            "review__reviewed_by",
        )
        .prefetch_related("faults", "review__marks__criterion")
        .order_by("-firing__opened_at", "-pk")
    )


@dataclass(frozen=True)
class MarkLine:
    """One criterion over time: the mean of all its marks, and of the latest three."""

    name: str
    marks: list[int]

    @property
    def mean(self) -> float:
        return sum(self.marks) / len(self.marks)

    @property
    def lately(self) -> float:
        latest = self.marks[-3:]
        return sum(latest) / len(latest)


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
    marks: dict[str, list[int]] = defaultdict(list)
    for each in reversed(pieces):
        review = getattr(each, "review", None)
        for mark in review.marks.all() if review else ():
            marks[mark.criterion.name].append(mark.mark)
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


@dataclass(frozen=True)
class StudentRow:
    person: Person
    fired: int
    pieces: int
    judged: int
    reviewed: int
    faulty: int
    last_opened_at: datetime | None


@dataclass(frozen=True)
class ClassProgress:
    teaching_class: TeachingClass
    students: list[StudentRow]
    firings: list[Firing]
    kilns: list[tuple[str, int, list[tuple[str, int]]]]
    """Of each kiln its pieces, and what was seen on them, most first."""
    shared: list[FaultShared]


def class_progress(teaching_class: TeachingClass) -> ClassProgress:
    """Of whoever is or was in the class, in its time; the number of queries stays."""
    members = list(teaching_class.members.select_related("person"))
    people = [member.person for member in members]
    since = timezone.make_aware(datetime.combine(teaching_class.starts_on, datetime.min.time()))
    until = (
        timezone.make_aware(datetime.combine(teaching_class.ends_on, datetime.max.time()))
        if teaching_class.ends_on
        else timezone.now() + timedelta(days=1)
    )
    pieces = LoadedPiece.objects.filter(
        piece__maker__in=people,
        firing__state=FiringState.OPENED,
        firing__opened_at__range=(since, until),
    )
    firings = (
        Firing.objects.filter(fired_by__in=people, started_at__range=(since, until))
        .select_related("kiln", "fired_by", "revision__schedule")
        .annotate(pieces=Count("load"))
        .order_by("-started_at", "-pk")
    )
    return ClassProgress(
        teaching_class=teaching_class,
        students=_student_rows(people, pieces, firings),
        firings=list(firings[:MOST_FIRINGS]),
        kilns=_by_kiln(pieces),
        shared=faults_shared(pieces, since),
    )


def _student_rows(
    people: list[Person], pieces: QuerySet[LoadedPiece], firings: QuerySet[Firing]
) -> list[StudentRow]:
    fired = Counter(firings.order_by().values_list("fired_by_id", flat=True))
    rows: dict[int, list[tuple[object, ...]]] = defaultdict(list)
    counted = pieces.order_by().annotate(seen=Count("faults"))
    for maker, *rest in counted.values_list(
        "piece__maker_id", "verdict", "review__pk", "seen", "firing__opened_at"
    ):
        rows[maker].append(tuple(rest))
    return [
        StudentRow(
            person=person,
            fired=fired[person.pk],
            pieces=len(own),
            judged=sum(each[0] is not None for each in own),
            reviewed=sum(each[1] is not None for each in own),
            faulty=sum(bool(each[2]) for each in own),
            last_opened_at=max((each[3] for each in own), default=None),  # type: ignore[type-var, arg-type]
        )
        for person in people
        for own in [rows.get(person.pk, [])]
    ]


def _by_kiln(pieces: QuerySet[LoadedPiece]) -> list[tuple[str, int, list[tuple[str, int]]]]:
    count: Counter[str] = Counter(pieces.order_by().values_list("firing__kiln__name", flat=True))
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    seen = pieces.order_by().exclude(faults=None).values_list("firing__kiln__name", "faults__kind")
    for kiln, kind in seen:
        kinds[kiln][kind] += 1
    return [
        (kiln, total, [(FaultKind(kind).label, n) for kind, n in kinds[kiln].most_common(4)])
        for kiln, total in count.most_common()
    ]


def portfolio_pieces(person: Person, numbers: list[int]) -> list[LoadedPiece]:
    """The chosen pieces, or all that have a photograph of their own or their load's, in order."""
    taken = Photograph.objects.filter(moment=Moment.AFTER).order_by("pk")
    pieces = pieces_of(person).prefetch_related(Prefetch("photographs", taken))
    if numbers:
        return list(pieces.filter(pk__in=numbers))[::-1]
    with_picture = Q(photographs__moment=Moment.AFTER)
    return list(pieces.filter(with_picture).distinct())[::-1]
