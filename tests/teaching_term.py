"""A term of a class, written in a few statements: 30 students, 12 weeks, one kiln with a fault."""

from dataclasses import dataclass
from datetime import timedelta
from random import Random

from django.utils import timezone

from firings.models import Fault, Firing, LoadedPiece, Piece
from studio.models import ClassMember, Kiln, Person, TeachingClass
from tests.factories import make_class, make_kiln, make_revision, make_schedule

FIRINGS_A_WEEK, PIECES_A_FIRING = 15, 4


@dataclass(frozen=True)
class Term:
    taught: TeachingClass
    students: list[Person]
    kilns: list[Kiln]
    waiting: list[LoadedPiece]


def make_term(instructor: Person, students: int = 30, weeks: int = 12, planned: int = 10) -> Term:
    """Opened firings with judged pieces, none of them reviewed, and planned ones to clear.

    In the second kiln, named Wren, about half of the pieces show small bubbles; elsewhere few.
    """
    random, now = Random(7), timezone.now()
    people = Person.objects.bulk_create(
        Person(sign_in_name=f"s{number}", name=f"Student {number}", role="student", password="!")
        for number in range(students)
    )
    taught = make_class(
        instructor, starts_on=timezone.localdate() - timedelta(weeks=weeks + 2), name="The term"
    )
    ClassMember.objects.bulk_create(
        ClassMember(teaching_class=taught, person=person) for person in people
    )
    kilns = [make_kiln(name) for name in ("Heron", "Wren", "Ouzel")]
    revisions = [
        make_revision(make_schedule(instructor, name=f"Schedule {number}")) for number in range(4)
    ]
    firings = []
    for number in range(weeks * FIRINGS_A_WEEK + planned):
        opened_at = now - timedelta(hours=number * weeks * 7 * 24 / (weeks * FIRINGS_A_WEEK))
        firer, is_planned = people[number % students], number < planned
        firings.append(
            Firing(
                kiln=kilns[random.randrange(3)],
                revision=revisions[random.randrange(4)],
                fired_by=firer,
                written_by=firer,
                state="planned" if is_planned else "opened",
                planned_start=now + timedelta(days=number) if is_planned else None,
                started_at=None if is_planned else opened_at - timedelta(hours=20),
                opened_at=None if is_planned else opened_at,
            )
        )
    Firing.objects.bulk_create(firings)
    makers = [random.choice(people) for _ in range(len(firings) * PIECES_A_FIRING)]
    pieces = Piece.objects.bulk_create(
        Piece(title=f"Piece {number}", maker=maker) for number, maker in enumerate(makers)
    )
    loaded = LoadedPiece.objects.bulk_create(
        LoadedPiece(
            firing=firings[number // PIECES_A_FIRING],
            piece=piece,
            thickest_mm=6.0,
            thinnest_mm=6.0,
            is_served=number % PIECES_A_FIRING == 0,
            verdict=random.choice([-1, 0, 0, 1, None]),
        )
        for number, piece in enumerate(pieces)
    )
    opened = [each for each in loaded if each.firing.state == "opened"]
    Fault.objects.bulk_create(
        Fault(loaded_piece=each, kind="small_bubbles", noted_by=instructor)
        for each in opened
        if random.random() < (0.5 if each.firing.kiln.name == "Wren" else 0.05)
    )
    return Term(taught, people, kilns, opened)
