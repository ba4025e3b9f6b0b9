"""A kiln is found running, and what runs had not been cleared: it is kept, marked and told."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core.mail import EmailMessage
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.actions.clearing import firing_decide
from firings.actions.record import firing_call_off
from firings.models import ClearingDecision, Firing, FiringState, Label, UnknownFiring
from firings.queries.clearing import clearing_of, firings_to_clear, seen_of
from studio.models import Kiln, Person, Studio, TeachingClass
from tests.factories import load_piece, make_class, make_firing, make_kiln

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def kiln() -> Kiln:
    return make_kiln()


@pytest.fixture
def taught(instructor: Person, student: Person) -> TeachingClass:
    return make_class(instructor, students=[student])


@pytest.fixture
def planned(taught: TeachingClass, kiln: Kiln, student: Person) -> Firing:
    firing = make_firing(student, kiln=kiln, title="Ebb panel")
    load_piece(firing)
    return firing


@pytest.fixture
def unknown(kiln: Kiln, student: Person) -> UnknownFiring:
    return UnknownFiring.objects.create(kiln=kiln, seen_c=612.0, noted_by=student)


def moment(at: datetime) -> str:
    return timezone.localtime(at).strftime("%Y-%m-%dT%H:%M")


def decide(firing: Firing, by: Person, decision: str) -> None:
    firing_decide(
        firing=firing,
        by=by,
        decision=ClearingDecision(decision),
        seen=seen_of(firing),
        latest=None,
        comment="Slower, please.",
    )


def named(unknown: UnknownFiring, client: Client, **facts: Any) -> Any:
    started_at = moment(timezone.now() - timedelta(hours=3))
    usual = {"started_at": started_at, "fired_by": client.session["_auth_user_id"], "title": ""}
    return client.post(
        reverse("firings:unknown_firing", args=[unknown.pk]), usual | facts, follow=True
    )


def test_what_a_student_names_is_kept_marked_and_told(
    taught: TeachingClass,
    unknown: UnknownFiring,
    instructor: Person,
    keeper: Person,
    student: Person,
    signed_in: SignIn,
    mailoutbox: list[EmailMessage],
    django_capture_on_commit_callbacks,
) -> None:
    for person in (instructor, keeper):
        Person.objects.filter(pk=person.pk).update(email=f"{person.sign_in_name}@example.org")
    revision = make_firing(student, kiln=make_kiln("Wren")).revision

    with django_capture_on_commit_callbacks(execute=True):
        answer = named(unknown, signed_in(student), revision=revision.pk)

    firing = Firing.objects.get(kiln=unknown.kiln)
    assert firing.state == FiringState.FIRING
    assert "It had not been cleared. Its instructors are told." in answer.text
    assert sorted(each.to[0] for each in mailoutbox) == ["mads@example.org", "oona@example.org"]
    assert "Heron fires what was not cleared" in mailoutbox[0].subject
    page = signed_in(instructor).get(reverse("firings:firing_detail", args=[firing.pk])).text
    for said in ("Nobody cleared this firing.", "Found running, written down by Ravi"):
        assert said in page
    for address in ("firings:review_desk", "firings:today"):
        desk = signed_in(instructor).get(reverse(address)).text
        assert "runs uncleared" in desk
        assert reverse("firings:firing_now", args=[firing.pk]) in desk


def test_what_was_cleared_is_that_planned_firing_and_nothing_is_told(
    planned: Firing, unknown: UnknownFiring, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    decide(planned, instructor, "cleared")

    answer = named(unknown, signed_in(student), planned=planned.pk)

    firing = Firing.objects.get()
    assert (firing.pk, firing.state, firing.title) == (planned.pk, "firing", "Ebb panel")
    assert firing.spot_readings.get().temperature_c == 612.0
    assert "Its instructors are told" not in answer.text
    assert not clearing_of(firing).was_not_cleared
    assert firings_to_clear(instructor, Studio.current()) == []


@pytest.mark.parametrize(
    ("standing", "said"),
    [
        ("waiting", "It had not been cleared."),
        ("returned", "It had been returned."),
        ("changed", "It had been changed since it was cleared."),
    ],
)
def test_a_planned_one_says_how_it_stood(
    standing: str, said: str, planned: Firing, unknown: UnknownFiring, instructor: Person,
    student: Person, signed_in: SignIn,
) -> None:  # fmt: skip
    if standing != "waiting":
        decide(planned, instructor, "returned" if standing == "returned" else "cleared")
    if standing == "changed":
        planned.load.update(thickest_mm=12.0)

    answer = named(unknown, signed_in(student), planned=planned.pk)

    assert said in answer.text
    firing = Firing.objects.get()
    assert clearing_of(firing).was_not_cleared
    assert firing.clearings.first().comment == said
    (listed,) = firings_to_clear(instructor, Studio.current())
    assert listed.runs


def test_what_its_class_may_not_fire_is_told_too(
    taught: TeachingClass, planned: Firing, unknown: UnknownFiring, instructor: Person,
    student: Person, signed_in: SignIn,
) -> None:  # fmt: skip
    TeachingClass.objects.update(highest_temperature_c=780.0)
    decide(planned, instructor, "cleared")

    answer = named(unknown, signed_in(student), planned=planned.pk)

    told = "It goes above 780 °C, the most that the class “Beginners” may fire."
    assert told in answer.text
    assert Firing.objects.get().clearings.first().comment == told


def test_one_of_both_is_named_and_nothing_typed_is_lost(
    planned: Firing, unknown: UnknownFiring, student: Person, artist: Person, signed_in: SignIn
) -> None:
    page = named(unknown, signed_in(student), title="Weir").text
    assert "Choose the planned firing or its schedule." in page
    assert 'value="Weir"' in page
    assert "Ebb panel, Ravi, no time set" in page

    others = named(unknown, signed_in(artist), planned=planned.pk).text
    assert "Ebb panel, Ravi" not in others, "it is not theirs to start"
    assert "This field is required." in others
    assert Firing.objects.get().state == FiringState.PLANNED


def test_a_planned_one_that_was_called_off_meanwhile(
    planned: Firing, unknown: UnknownFiring, student: Person, signed_in: SignIn
) -> None:
    firing_call_off(firing=planned, by=student)

    page = named(unknown, signed_in(student), planned=planned.pk).text

    assert "This field is required." in page
    unknown.refresh_from_db()
    assert unknown.closed_at is None


def test_what_is_over_is_marked_as_well(
    taught: TeachingClass, unknown: UnknownFiring, student: Person, instructor: Person,
    signed_in: SignIn,
) -> None:  # fmt: skip
    revision = make_firing(student, kiln=make_kiln("Wren")).revision
    now = timezone.now()
    address = reverse("firings:firing_afterwards")
    facts = {
        "revision": revision.pk,
        "fired_by": student.pk,
        "started_at": moment(now - timedelta(hours=20)),
        "opened_at": moment(now),
        "title": "Ebb panel",
        "layers": "2",
        "verdict": "",
    }
    signed_in(student).post(f"{address}?kiln={unknown.kiln_id}&unknown={unknown.pk}", facts)

    firing = Firing.objects.get(state="opened")
    assert clearing_of(firing).was_found


def test_the_kiln_s_label_starts_nothing_that_waits_to_be_cleared(
    planned: Firing, kiln: Kiln, student: Person, instructor: Person, signed_in: SignIn
) -> None:
    client, start = signed_in(student), reverse("firings:firing_start", args=[planned.pk])
    address = reverse("firings:kiln_code", args=[Label.objects.create(kiln=kiln).code])

    page = client.get(address).text
    assert "waits to be cleared" in page
    assert start not in page

    decide(planned, instructor, "returned")
    assert "returned by Oona" in client.get(address).text

    planned.clearings.all().delete()
    decide(planned, instructor, "cleared")
    page = client.get(address).text
    assert "waits to be cleared" not in page
    assert start in page


def test_the_label_asks_as_often_for_one_planned_firing_as_for_six(
    planned: Firing, kiln: Kiln, student: Person, signed_in: SignIn
) -> None:
    client = signed_in(student)
    address = reverse("firings:kiln_code", args=[Label.objects.create(kiln=kiln).code])

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        return len(queries)

    asked()
    few = asked()
    for _ in range(5):
        load_piece(make_firing(student, kiln=kiln, revision=planned.revision))
    assert asked() == few
