from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from firings.actions.booking import KilnTakenError
from firings.actions.record import firing_change, firing_plan
from firings.models import Booking, Firing
from schedules.models import Revision
from studio.models import Kiln, Person
from tests.at_once import at_once
from tests.factories import make_firing, make_kiln, make_person, make_revision, make_schedule

BOOKERS = 4
MONDAY = datetime(2027, 3, 8, 9, 30, tzinfo=UTC)

pytestmark = pytest.mark.django_db(transaction=True)


def test_of_people_who_book_in_the_same_second_one_has_the_kiln() -> None:
    person, kiln = make_person(), make_kiln()
    revision = make_revision(make_schedule(person))

    def book(number: int) -> str:
        start = MONDAY + timedelta(minutes=number)
        return _plan(kiln, revision, person, start)

    assert told(book) == ["planned", "told", "told", "told"]
    assert Firing.objects.count() == Booking.objects.count() == 1


def test_plans_moved_into_one_kiln_at_once_do_not_meet_there() -> None:
    person, kiln = make_person(), make_kiln()
    revision = make_revision(make_schedule(person))
    others = [
        make_firing(
            person, kiln=make_kiln(f"Wren {number}"), revision=revision, planned_start=MONDAY
        )
        for number in range(BOOKERS)
    ]

    def move(number: int) -> str:
        firing_change(firing=others[number], changes={"kiln": kiln})
        return "moved"

    assert told(move) == ["moved", "told", "told", "told"]
    assert Booking.objects.filter(kiln=kiln).count() == 1


def test_plans_exchanged_between_two_kilns_wait_for_each_other() -> None:
    """Both kilns' rows are locked by both; neither waits for ever."""
    person = make_person()
    revision = make_revision(make_schedule(person))
    one, other = make_kiln("Heron"), make_kiln("Wren")
    firings = [
        make_firing(person, kiln=kiln, revision=revision, planned_start=MONDAY + days)
        for kiln, days in [(one, timedelta(0)), (other, timedelta(days=3))]
    ]

    def move(number: int) -> str:
        if number > 1:
            return "nothing"
        firing_change(firing=firings[number], changes={"kiln": (other, one)[number]})
        return "moved"

    assert told(move) == ["moved", "moved", "nothing", "nothing"]


def _plan(kiln: Kiln, revision: Revision, person: Person, start: datetime) -> str:
    firing_plan(
        kiln=kiln, revision=revision, fired_by=person, written_by=person, planned_start=start
    )
    return "planned"


def told(act: Callable[[int], str]) -> list[str]:
    """What became of each booker, "told" for whoever was told that the kiln is taken."""
    answers = at_once(act, range(BOOKERS))
    assert all(isinstance(each, str | KilnTakenError) for each in answers), answers
    return sorted("told" if isinstance(each, KilnTakenError) else each for each in answers)
