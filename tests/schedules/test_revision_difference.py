from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Schedule
from studio.models import Person
from tests.factories import make_kiln, make_revision, make_schedule

SignIn = Callable[[Person], Client]


@pytest.fixture
def schedule(artist: Person) -> Schedule:
    schedule = make_schedule(artist)
    make_revision(schedule, [("150", "540", 0), ("330", "804", 10)], reason="Old card")
    make_revision(schedule, [("150", "540", 0), ("330", "804", 14)], reason="Corners were square")
    make_revision(
        schedule,
        [("150", "540", 0), ("330", "804", 14), (None, "482", 60)],
        reason="An anneal of its own",
    )
    return schedule


def url(schedule: Schedule) -> str:
    return reverse("schedules:revision_difference", args=[schedule.pk])


def test_newest_against_the_one_before(
    schedule: Schedule, student: Person, signed_in: SignIn
) -> None:
    difference = signed_in(student).get(url(schedule)).context["difference"]
    assert (difference.older.number, difference.newer.number) == (2, 3)
    assert [line.kind for line in difference.changed_lines] == ["added"]


def test_any_two_revisions_with_all_reasons_between(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    make_kiln("Heron")
    response = signed_in(artist).get(url(schedule), {"from": "1", "to": "3"})
    difference, text = response.context["difference"], response.content.decode()
    assert [line.kind for line in difference.changed_lines] == ["changed", "added"]
    assert "Corners were square" in text
    assert "An anneal of its own" in text
    assert "Old card" not in text
    assert 'data-name="From">10 min' in text
    assert 'data-name="To"><strong>14 min' in text
    # Four minutes more at the top, then full power down to 482 °C and an hour there.
    assert difference.planned.total_difference_s > 4 * 60 + 3600
    assert difference.planned.drawings[0].earlier
    assert "Both curves in Heron" in text


def test_older_is_always_before(schedule: Schedule, artist: Person, signed_in: SignIn) -> None:
    asked = {"from": "3", "to": "1"}
    difference = signed_in(artist).get(url(schedule), asked).context["difference"]
    assert (difference.older.number, difference.newer.number) == (1, 3)


def test_difference_is_in_the_unit_of_the_newer(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    make_revision(schedule, [("270", "1004", 0), ("594", "1480", 14), (None, "900", 60)], unit="F")
    response = signed_in(artist).get(url(schedule), {"from": "3", "to": "4"})
    # 804 °C is 1479.2 °F and 482 °C is 899.6 °F; 150 °C/h is 270 °F/h, exactly.
    changes = [
        (line.newer_index, change.field, float(change.before), float(change.after))
        for line in response.context["difference"].changed_lines
        for change in line.fields
    ]
    assert changes == [(1, "target", 1479.2, 1480.0), (2, "target", 899.6, 900.0)]


@pytest.mark.parametrize(
    "asked", [{"from": "1", "to": "1"}, {"from": "7"}, {"to": "x", "from": "9"}, {"to": "1"}]
)
def test_revisions_that_are_not_two_are_told(
    schedule: Schedule, artist: Person, signed_in: SignIn, asked: dict[str, str]
) -> None:
    response = signed_in(artist).get(url(schedule), asked)
    assert response.status_code == 200
    assert "Choose two revisions" in response.content.decode()


def test_single_revision_has_nothing_to_compare(artist: Person, signed_in: SignIn) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    assert "nothing has changed yet" in signed_in(artist).get(url(schedule)).content.decode()


def test_outsider_is_led_to_sign_in(schedule: Schedule, outsider: Client) -> None:
    assert outsider.get(url(schedule)).status_code == 302


def test_page_is_only_read(schedule: Schedule, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).post(url(schedule)).status_code == 405
