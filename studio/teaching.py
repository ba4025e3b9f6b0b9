"""Who is taught by whom, and with whom: what relations between people rest on.

A student's classes count while they run and for some weeks after, so that the last firings are
still reviewed; a student in no such class is every instructor's.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from studio.access import CLASSMATE, OTHER, OWN, STUDENT, TAUGHT
from studio.models import ClassMember, Person, Role, Studio, TeachingClass

REVIEWED_FOR = timedelta(weeks=6)


@dataclass(frozen=True)
class Ties:
    """Students whom this person teaches, and students who sit in a class with them."""

    taught: frozenset[int]
    classmates: frozenset[int]
    in_a_class: frozenset[int]


def counting_memberships(on: date | None = None) -> QuerySet[ClassMember]:
    """Of students in classes that run or ended a few weeks ago, in no order."""
    day = on or timezone.localdate()
    return ClassMember.objects.filter(
        Q(teaching_class__ends_on=None) | Q(teaching_class__ends_on__gte=day - REVIEWED_FOR),
        left_at=None,
    ).order_by()


def ties_of(person: Person) -> Ties:
    """Read once a request: it is kept on the person."""
    if getattr(person, "_ties", None) is None:
        keep_ties([person])
    kept: Ties = person._ties  # type: ignore[attr-defined]
    return kept


def keep_ties(people: Collection[Person]) -> None:
    """Read the ties of all of these, in one query or none; `ties_of` has them then."""
    sitting: list[tuple[int, int, int | None]] = []
    if any(person.role in (Role.INSTRUCTOR, Role.STUDENT) for person in people):
        sitting = list(
            counting_memberships().values_list(
                "person_id", "teaching_class_id", "teaching_class__instructors"
            )
        )
    for person in people:
        person._ties = _ties_among(sitting, person)  # type: ignore[attr-defined]


def _ties_among(sitting: list[tuple[int, int, int | None]], person: Person) -> Ties:
    """`sitting`: a student, a class of theirs, an instructor of it."""
    nobody: frozenset[int] = frozenset()
    if person.role == Role.INSTRUCTOR:
        return Ties(
            taught=frozenset(student for student, _, teacher in sitting if teacher == person.pk),
            classmates=nobody,
            in_a_class=frozenset(student for student, _, _ in sitting),
        )
    if person.role == Role.STUDENT:
        mine = {each for student, each, _ in sitting if student == person.pk}
        mates = frozenset(student for student, each, _ in sitting if each in mine)
        return Ties(nobody, mates, nobody)
    return Ties(nobody, nobody, nobody)


def relation_between(person: Person, owner: Person) -> str:
    """How `person` stands to what `owner` made or fired."""
    if person.pk == owner.pk:
        return OWN
    if owner.role != Role.STUDENT:
        return OTHER
    ties = ties_of(person)
    if person.role == Role.INSTRUCTOR and (
        owner.pk in ties.taught or owner.pk not in ties.in_a_class
    ):
        return TAUGHT
    return CLASSMATE if owner.pk in ties.classmates else STUDENT


def running_classes_of(student: Person, on: date | None = None) -> QuerySet[TeachingClass]:
    """The classes in which this student learns now."""
    day = on or timezone.localdate()
    return TeachingClass.objects.filter(
        Q(ends_on=None) | Q(ends_on__gte=day),
        starts_on__lte=day,
        members__person=student,
        members__left_at=None,
    ).distinct()


def clearing_is_asked(person: Person) -> bool:
    """Whether what this person plans is cleared before its start; of a student only."""
    return person.role == Role.STUDENT and bool(clearing_is_asked_of([person.pk], Studio.current()))


def clearing_is_asked_of(students: Collection[int], studio: Studio) -> set[int]:
    """Those of these students whose firings are cleared before the start."""
    if not students or studio.asks_clearing:
        return set(students)
    day = timezone.localdate()
    asking = ClassMember.objects.filter(
        Q(teaching_class__ends_on=None) | Q(teaching_class__ends_on__gte=day),
        teaching_class__starts_on__lte=day,
        teaching_class__asks_clearing=True,
        left_at=None,
        person__in=students,
    )
    return set(asking.order_by().values_list("person_id", flat=True))


def instructors_of(student: Person) -> QuerySet[Person]:
    """Who clears and reviews a student's work: their classes' instructors, or else all."""
    active = Person.objects.filter(role=Role.INSTRUCTOR, is_active=True)
    theirs = counting_memberships().filter(person=student).values("teaching_class__instructors")
    own = active.filter(pk__in=theirs)
    return own if own.exists() else active


def taught_by(person: Person) -> QuerySet[Person]:
    """The students whose work this instructor reviews; a keeper's are all of them."""
    if person.role == Role.KEEPER:
        return Person.objects.filter(role=Role.STUDENT)
    return Person.objects.filter(of_taught(person))


def of_taught(person: Person, whose: str = "") -> Q:
    """`TAUGHT` as a condition: rows of students whom this instructor teaches, of nobody else's.

    `whose` is the way from the row to the student, as “fired_by”; empty where the row is one.
    """
    if person.role != Role.INSTRUCTOR:
        return Q(pk__in=[])
    counting = counting_memberships()
    mine = counting.filter(teaching_class__instructors=person).values("person")
    role, number = (f"{whose}__role", f"{whose}__in") if whose else ("role", "pk__in")
    return Q(**{role: Role.STUDENT}) & (
        Q(**{number: mine}) | ~Q(**{number: counting.values("person")})
    )
