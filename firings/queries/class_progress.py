"""What the students of a class fired in its time, and how it came out."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from firings.models import FaultKind, Firing, FiringState, LoadedPiece
from firings.queries.progress import with_outcomes
from firings.queries.review import SEEN_ON, FaultShared, shared_among
from firings.queries.visible import visible_load
from firings.services.agreement import Agreement, agreement
from studio.models import ClassMember, Person, TeachingClass
from studio.queries.names import ByName

MOST_FIRINGS = 60
MOST_WEEKS = 16
WEEK = timedelta(weeks=1)
AS_WANTED = 0


@dataclass(frozen=True)
class Week:
    """Of one student: pieces out of kilns opened in it, and how many of them are as wanted."""

    begins: date
    pieces: int
    as_wanted: int


@dataclass(frozen=True)
class StudentRow:
    person: Person
    has_left: bool
    fired: int
    pieces: int
    judged: int
    reviewed: int
    faulty: int
    agreement: Agreement | None
    weeks: list[Week]
    last_opened_at: datetime | None


@dataclass(frozen=True)
class ClassProgress:
    """`kilns`: of each its pieces, and what was seen on them, most first."""

    teaching_class: TeachingClass
    students: list[StudentRow]
    weeks: list[date]
    firings: list[Firing]
    kilns: list[tuple[str, int, list[tuple[str, int]]]]
    shared: list[FaultShared]

    @property
    def nothing_judged(self) -> list[StudentRow]:
        """Who is in the class and has judged none of their pieces, or has none."""
        return [row for row in self.students if not row.judged and not row.has_left]


def class_progress(teaching_class: TeachingClass, reader: Person) -> ClassProgress:
    """Of who is in the class, and until then of who left it; the number of queries stays."""
    members = list(teaching_class.members.select_related("person"))
    since, until = _time_of(teaching_class)
    rows = list(
        _pieces(teaching_class, reader)
        .order_by()
        .values_list(*SEEN_ON, "verdict", "review__pk", "review__verdict", "firing__opened_at")
    )
    pieces = _out_of_kilns(rows)
    firings = Firing.objects.filter(
        _in_class(teaching_class, "fired_by", "started_at"), started_at__range=(since, until)
    )
    loaded = LoadedPiece.objects.filter(firing=OuterRef("pk")).order_by().values("firing")
    latest = (
        firings.select_related("kiln", "fired_by", "revision__schedule")
        .annotate(pieces=Coalesce(Subquery(loaded.values(count=Count("pk"))), 0))
        .order_by("-started_at", "-pk")
    )
    weeks = _weeks_between(timezone.localdate(since), timezone.localdate(until))
    return ClassProgress(
        teaching_class=teaching_class,
        students=_student_rows(members, pieces, firings, weeks),
        weeks=weeks,
        firings=list(latest[:MOST_FIRINGS]),
        kilns=_by_kiln(pieces),
        shared=shared_among(row[: len(SEEN_ON)] for row in rows),
    )


def class_pieces(teaching_class: TeachingClass, reader: Person) -> QuerySet[LoadedPiece]:
    """What came out of a kiln in the class, by student, of each the first one first."""
    return with_outcomes(_pieces(teaching_class, reader)).order_by(
        ByName("piece__maker__name"), "piece__maker", "firing__opened_at", "pk"
    )


def _pieces(teaching_class: TeachingClass, reader: Person) -> QuerySet[LoadedPiece]:
    return visible_load(reader).filter(
        _in_class(teaching_class, "piece__maker", "firing__opened_at"),
        firing__state=FiringState.OPENED,
        firing__opened_at__range=_time_of(teaching_class),
    )


def _in_class(teaching_class: TeachingClass, person: str, when: str) -> Exists:
    """That the person was in the class then: what they did after they left is not its own."""
    members = ClassMember.objects.filter(teaching_class=teaching_class, person=OuterRef(person))
    return Exists(members.filter(Q(left_at=None) | Q(left_at__gte=OuterRef(when))))


def _time_of(teaching_class: TeachingClass) -> tuple[datetime, datetime]:
    """From its first day to its last, or to now."""
    since = timezone.make_aware(datetime.combine(teaching_class.starts_on, datetime.min.time()))
    now = timezone.now()
    if teaching_class.ends_on is None:
        return since, now
    last = timezone.make_aware(datetime.combine(teaching_class.ends_on, datetime.max.time()))
    return since, min(last, now)


def _weeks_between(first: date, last: date) -> list[date]:
    """The Mondays from that of the first day to that of the last, the latest of them."""
    monday = _monday(first)
    count = max(0, (_monday(last) - monday) // WEEK + 1)
    return [monday + WEEK * number for number in range(count)][-MOST_WEEKS:]


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


@dataclass(frozen=True)
class _Out:
    """Of one piece that came out of a kiln; `review` is its number."""

    maker: int
    kiln: str
    verdict: int | None
    review: int | None
    reviewed: int | None
    opened_at: datetime
    faults: list[str] = field(default_factory=list)

    @property
    def counted(self) -> int | None:
        return self.verdict if self.reviewed is None else self.reviewed


def _out_of_kilns(rows: Iterable[tuple[Any, ...]]) -> list[_Out]:
    """Each piece once, of rows that name it once for each of its faults."""
    pieces: dict[int, _Out] = {}
    for row in rows:
        pk, _, _, kiln, _, _, maker, fault, verdict, review, reviewed, opened_at = row
        if pk not in pieces:
            pieces[pk] = _Out(maker, kiln, verdict, review, reviewed, opened_at)
        if fault:
            pieces[pk].faults.append(fault)
    return list(pieces.values())


def _student_rows(
    members: list[ClassMember],
    pieces: Iterable[_Out],
    firings: QuerySet[Firing],
    weeks: list[date],
) -> list[StudentRow]:
    fired = Counter(firings.order_by().values_list("fired_by_id", flat=True))
    rows: dict[int, list[_Out]] = defaultdict(list)
    for each in pieces:
        rows[each.maker].append(each)
    return [
        _row(member, fired[member.person_id], rows[member.person_id], weeks) for member in members
    ]


def _row(member: ClassMember, fired: int, pieces: list[_Out], weeks: list[date]) -> StudentRow:
    by_week: dict[date, list[_Out]] = defaultdict(list)
    zone = timezone.get_current_timezone()
    for each in pieces:
        by_week[_monday(each.opened_at.astimezone(zone).date())].append(each)
    return StudentRow(
        person=member.person,
        has_left=member.left_at is not None,
        fired=fired,
        pieces=len(pieces),
        judged=sum(each.verdict is not None for each in pieces),
        reviewed=sum(each.review is not None for each in pieces),
        faulty=sum(bool(each.faults) for each in pieces),
        agreement=agreement(
            (each.verdict, each.reviewed)
            for each in pieces
            if each.verdict is not None and each.reviewed is not None
        ),
        weeks=[
            Week(
                monday,
                len(by_week[monday]),
                sum(each.counted == AS_WANTED for each in by_week[monday]),
            )
            for monday in weeks
        ],
        last_opened_at=max((each.opened_at for each in pieces), default=None),
    )


def _by_kiln(pieces: Iterable[_Out]) -> list[tuple[str, int, list[tuple[str, int]]]]:
    count: Counter[str] = Counter()
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    for each in pieces:
        count[each.kiln] += 1
        kinds[each.kiln].update(each.faults)
    return [
        (kiln, total, [(FaultKind(kind).label, n) for kind, n in kinds[kiln].most_common(4)])
        for kiln, total in count.most_common()
    ]
