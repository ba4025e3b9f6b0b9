from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Schedule
from studio.models import Person
from tests.factories import make_revision, make_schedule

SignIn = Callable[[Person], Client]


@pytest.fixture
def schedule(artist: Person) -> Schedule:
    schedule = make_schedule(artist)
    make_revision(schedule)
    return schedule


def test_owner_archives_and_brings_back(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    browser.post(reverse("schedules:schedule_archive", args=[schedule.pk]))
    schedule.refresh_from_db()
    assert schedule.archived_at is not None
    page = browser.get(reverse("schedules:schedule_detail", args=[schedule.pk])).content.decode()
    assert "Bring it back" in page
    assert reverse("schedules:revision_copy", args=[schedule.pk, 1]) not in page

    browser.post(reverse("schedules:schedule_restore", args=[schedule.pk]))
    schedule.refresh_from_db()
    assert schedule.archived_at is None


@pytest.mark.parametrize("name", ["schedule_archive", "schedule_restore"])
def test_student_may_not_archive_anothers(
    schedule: Schedule, student: Person, signed_in: SignIn, name: str
) -> None:
    response = signed_in(student).post(reverse(f"schedules:{name}", args=[schedule.pk]))
    assert response.status_code == 403
    schedule.refresh_from_db()
    assert schedule.archived_at is None


@pytest.mark.parametrize("name", ["schedule_archive", "schedule_restore"])
def test_archiving_is_no_link(
    schedule: Schedule, artist: Person, outsider: Client, signed_in: SignIn, name: str
) -> None:
    address = reverse(f"schedules:{name}", args=[schedule.pk])
    assert signed_in(artist).get(address).status_code == 405
    assert outsider.post(address).status_code == 302
    schedule.refresh_from_db()
    assert schedule.archived_at is None


def edit_url(schedule: Schedule) -> str:
    return reverse("schedules:schedule_edit", args=[schedule.pk])


def facts(schedule: Schedule, **overrides: str) -> dict[str, str]:
    return {
        "name": "Tide fuse",
        "family": str(schedule.family_id),
        "thinnest_mm": "6",
        "thickest_mm": "9",
        "note": "Keep an eye on the corners.",
    } | overrides


def test_facts_change_without_a_revision(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).post(edit_url(schedule), facts(schedule))
    assert response.status_code == 302
    schedule.refresh_from_db()
    assert (schedule.name, schedule.thickest_mm) == ("Tide fuse", 9)
    assert schedule.revisions.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field", "message"),
    [
        ({"thickest_mm": "5"}, "thickest_mm", "Not thinner than the thinnest."),
        ({"thinnest_mm": "six"}, "thinnest_mm", "Enter a number of millimetres, such as 6."),
        ({"thickest_mm": "900"}, "thickest_mm", "less than or equal to 100"),
        ({"family": ""}, "family", "Choose the family of the glass."),
        ({"name": ""}, "name", "This field is required."),
    ],
)
def test_wrong_fact_is_told_at_its_field_and_the_rest_is_kept(
    schedule: Schedule,
    artist: Person,
    signed_in: SignIn,
    wrong: dict[str, str],
    field: str,
    message: str,
) -> None:
    response = signed_in(artist).post(edit_url(schedule), facts(schedule, **wrong))
    assert response.status_code == 200
    assert message in response.context["form"].errors[field][0]
    assert "Keep an eye on the corners." in response.content.decode()
    schedule.refresh_from_db()
    assert schedule.name != "Tide fuse"


def test_student_may_not_change_anothers_facts(
    schedule: Schedule, student: Person, signed_in: SignIn
) -> None:
    assert signed_in(student).post(edit_url(schedule), facts(schedule)).status_code == 403
