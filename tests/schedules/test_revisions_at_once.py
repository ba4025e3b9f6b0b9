from decimal import Decimal

import pytest

from schedules.actions.revision import MovedOnError, revision_make
from schedules.models import Schedule
from schedules.services.writing import WrittenSegment
from studio.models import Person
from tests.at_once import at_once as in_one_moment
from tests.factories import make_person, make_revision, make_schedule

WRITERS = 4

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(schedule: Schedule, person: Person, newest_seen: int | None) -> list[str]:
    def write(_: int) -> str:
        made = revision_make(
            schedule=schedule,
            by=person,
            segments=[WrittenSegment(None, Decimal(804), Decimal(10))],
            unit="C",
            reason="At once",
            newest_seen=newest_seen,
        )
        return str(made.number)

    answers = in_one_moment(write, range(WRITERS))
    assert all(isinstance(each, str | MovedOnError) for each in answers), answers
    return sorted("told" if isinstance(each, MovedOnError) else each for each in answers)


def test_people_who_write_at_once_get_a_number_each() -> None:
    person = make_person()
    schedule = make_schedule(person)
    make_revision(schedule)
    assert at_once(schedule, person, None) == ["2", "3", "4", "5"]


def test_of_people_who_saw_the_same_newest_one_writes_and_the_others_are_told() -> None:
    person = make_person()
    schedule = make_schedule(person)
    make_revision(schedule)
    assert at_once(schedule, person, 1) == ["2", "told", "told", "told"]
