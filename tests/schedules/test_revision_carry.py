import uuid
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Revision
from studio.models import Person
from tests.factories import make_kiln, make_revision, make_schedule

SignIn = Callable[[Person], Client]


@pytest.fixture
def first(artist: Person) -> Revision:
    return make_revision(make_schedule(artist), [("300", "1480", 10), (None, "50", 0)], unit="F")


def url(revision: Revision) -> str:
    return reverse("schedules:revision_carry", args=[revision.schedule_id, revision.number])


def sent(**overrides: str) -> dict[str, str]:
    return {"targets": "1", "rates": "1", "reason": "To °C", "newest_seen": "1"} | overrides


def test_each_number_is_shown_before_and_after(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).get(url(first))
    carried = response.context["carried"]
    rate, target, _ = carried.numbers
    # 300 °F/h is a difference: 166.67 °C/h, not 149. 1480 °F is 804.44 °C.
    assert (rate.written, rate.keyed, target.written, target.keyed) == (300, 167, 1480, 804)
    assert float(target.rounding.difference) == pytest.approx(-0.44, abs=0.005)
    text = response.content.decode()
    for shown in ("166.67", "804.44", "0.33", "−0.44"):
        assert shown in text
    assert "Carried from °F (revision 1) to °C" in text


def test_steps_can_be_chosen(first: Revision, artist: Person, signed_in: SignIn) -> None:
    asked = {"targets": "5", "rates": "0,1"}
    rate, target, _ = signed_in(artist).get(url(first), asked).context["carried"].numbers
    assert (rate.keyed, target.keyed) == (Decimal("166.7"), 805)


def test_kilns_own_step_comes_first(artist: Person, signed_in: SignIn) -> None:
    kiln = make_kiln(controller_step=Decimal(2))
    revision = make_revision(make_schedule(artist), unit="F", written_for=kiln)
    assert signed_in(artist).get(url(revision)).context["steps"]["targets"].value() == "2"


@pytest.mark.parametrize("step", ["0", "-1", "a bit", "11", ""])
def test_wrong_step_is_told_at_its_field(
    first: Revision, artist: Person, signed_in: SignIn, step: str
) -> None:
    response = signed_in(artist).get(url(first), {"targets": step})
    assert response.status_code == 200
    assert response.context["steps"].errors["targets"]


def test_carried_revision_is_in_the_other_unit(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    assert signed_in(artist).post(url(first), sent()).status_code == 302
    made = first.schedule.revisions.latest()
    assert (made.number, made.unit, made.reason, made.copied_from) == (2, "C", "To °C", first)
    assert [(row.rate, row.target, row.hold_minutes) for row in made.segments.all()] == [
        (167, 804, 10),
        (None, 10, 0),
    ]


def test_there_and_back_again_leaves_what_was_written(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    browser.post(url(first), sent(targets="0.1", rates="0.1"))
    there = first.schedule.revisions.latest()
    browser.post(url(there), sent(newest_seen="2", reason="Back"))
    back = first.schedule.revisions.latest()
    assert (back.number, back.unit) == (3, "F")
    assert [(row.rate, row.target) for row in back.segments.all()] == [(300, 1480), (None, 50)]
    assert [(row.rate, row.target) for row in first.segments.all()] == [(300, 1480), (None, 50)]


def test_what_the_kiln_refuses_is_not_made(artist: Person, signed_in: SignIn) -> None:
    kiln = make_kiln(max_temperature_c=804.5)
    revision = make_revision(
        make_schedule(artist), [("300", "1480", 10)], unit="F", written_for=kiln
    )
    browser = signed_in(artist)
    response = browser.post(url(revision), sent(targets="5"))
    assert "highest temperature is 804.5 °C" in response.content.decode()
    assert revision.schedule.revisions.count() == 1
    assert browser.post(url(revision), sent(targets="1")).status_code == 302


def test_writer_is_told_of_a_newer_revision(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    make_revision(first.schedule, unit="F", reason="Softer corners")
    response = signed_in(artist).post(url(first), sent())
    text = response.content.decode()
    assert "Inka has made revision 2 meanwhile" in text
    assert 'name="newest_seen" value="2"' in text
    assert first.schedule.revisions.count() == 2


def test_form_sent_twice_makes_one_revision(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    browser, once = signed_in(artist), sent(form_key=str(uuid.uuid4()))
    browser.post(url(first), once)
    assert browser.post(url(first), once).status_code == 302
    assert first.schedule.revisions.count() == 2


def test_student_may_not_carry_anothers_schedule(
    first: Revision, student: Person, signed_in: SignIn
) -> None:
    assert signed_in(student).post(url(first), sent()).status_code == 403
    assert first.schedule.revisions.count() == 1


def test_outsider_is_led_to_sign_in(first: Revision, outsider: Client) -> None:
    assert outsider.post(url(first), sent()).status_code == 302


def test_other_methods_are_refused(first: Revision, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).put(url(first)).status_code == 405
