"""Two people at one series: the slower is told, and no rung is planned twice."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from firings.actions.ladder import ladder_make, ladder_plan
from firings.models import Booking, Firing, Ladder
from firings.queries.ladder_plan import LadderPlan
from schedules.actions.revision import MovedOnError
from schedules.models import Schedule
from studio.models import Kiln, Studio
from tests.at_once import at_once
from tests.factories import make_kiln, make_person, make_revision, make_schedule

pytestmark = pytest.mark.django_db(transaction=True)


def ladder(schedule: Schedule, kiln: Kiln, name: str) -> Ladder:
    return ladder_make(
        schedule=schedule,
        kiln=kiln,
        by=schedule.owner,
        studio=Studio.current(),
        plan=LadderPlan("peak", Decimal(794), Decimal(7), 2),
        name=name,
        reason="The peak of the new opal",
        thickest_mm=6.0,
        newest_seen=1,
    )


def test_of_two_ladders_made_at_once_the_second_is_told() -> None:
    schedule, kiln = make_schedule(make_person()), make_kiln()
    make_revision(schedule)
    Studio.current()
    found = at_once(lambda name: ladder(schedule, kiln, name), ["one", "other"])
    assert sorted(type(each).__name__ for each in found) == ["Ladder", MovedOnError.__name__]
    assert schedule.revisions.count() == 4


def test_rungs_planned_by_two_at_once_are_planned_once() -> None:
    schedule, kiln = make_schedule(make_person()), make_kiln()
    make_revision(schedule)
    made = ladder(schedule, kiln, "one")
    start = timezone.now() + timedelta(days=2)
    found = at_once(
        lambda by: ladder_plan(ladder=made, by=by, starts_at=start), [schedule.owner] * 2
    )
    assert sorted(len(each) for each in found) == [0, 2]
    assert Firing.objects.count() == Booking.objects.count() == 2
