from collections.abc import Callable

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from studio.actions.people import person_deactivate, person_set_role
from studio.models import Invitation, Person
from tests.factories import PASSWORD, make_person


def test_keeper_changes_a_role(
    keeper: Person, student: Person, signed_in: Callable[[Person], Client]
) -> None:
    response = signed_in(keeper).post(f"/people/{student.pk}/role/", {"role": "artist"})

    assert response.status_code == 302
    student.refresh_from_db()
    assert student.role == "artist"


def test_unknown_role_is_refused_at_its_field(
    keeper: Person, student: Person, signed_in: Callable[[Person], Client]
) -> None:
    response = signed_in(keeper).post(f"/people/{student.pk}/role/", {"role": "emperor"})

    assert response.context["form"].errors["role"]
    student.refresh_from_db()
    assert student.role == "student"


@pytest.mark.parametrize("act", ["role", "deactivate", "activate"])
@pytest.mark.parametrize("role", ["instructor", "artist", "student"])
def test_only_the_keeper_changes_accounts(
    act: str, role: str, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    person = make_person("tove", role=role)
    browser = signed_in(person)

    assert browser.post(f"/people/{keeper.pk}/{act}/", {"role": "student"}).status_code == 403
    assert browser.post(f"/people/{person.pk}/{act}/", {"role": "keeper"}).status_code == 403


def test_last_keeper_stays(keeper: Person, signed_in: Callable[[Person], Client]) -> None:
    make_person("gone", role="keeper", is_active=False)  # a closed account keeps nothing
    browser = signed_in(keeper)

    refused = browser.post(f"/people/{keeper.pk}/role/", {"role": "artist"})
    closed = browser.post(f"/people/{keeper.pk}/deactivate/", follow=True)

    assert refused.context["form"].errors["role"]
    assert "needs one keeper" in closed.text
    keeper.refresh_from_db()
    assert (keeper.role, keeper.is_active) == ("keeper", True)


def test_one_of_two_keepers_may_leave(keeper: Person) -> None:
    second = make_person("tove", role="keeper")

    person_set_role(person=keeper, role="artist")

    with pytest.raises(ValidationError):
        person_deactivate(person=second)


def test_closing_an_account_ends_its_open_session(
    keeper: Person, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(artist)
    assert browser.get("/kilns/").status_code == 200

    signed_in(keeper).post(f"/people/{artist.pk}/deactivate/")

    assert browser.get("/kilns/").status_code == 302
    signed_in(keeper).post(f"/people/{artist.pk}/activate/")
    opened = Client().post("/sign-in/", {"username": "inka", "password": PASSWORD})
    assert opened.status_code == 302


def test_address_is_seen_by_keeper_and_owner_only(
    keeper: Person, student: Person, signed_in: Callable[[Person], Client]
) -> None:
    person = make_person("tove", email="tove@millrace.example")
    page = f"/people/{person.pk}/"

    assert "tove@millrace.example" in signed_in(keeper).get(page).text
    assert "tove@millrace.example" in signed_in(person).get(page).text
    assert "tove@millrace.example" not in signed_in(student).get(page).text


def test_missing_person_is_no_page(keeper: Person, signed_in: Callable[[Person], Client]) -> None:
    assert signed_in(keeper).get("/people/999/").status_code == 404


def test_links_for_keepers_go_with_the_keepers_role(keeper: Person) -> None:
    second = make_person("tove", role="keeper")
    for role in ("keeper", "student"):
        Invitation.objects.create(invited_for=role, role=role, invited_by=second)

    person_set_role(person=second, role="instructor")

    assert [each.role for each in Invitation.objects.all() if each.is_open] == ["student"]

    person_set_role(person=second, role="artist")

    assert not any(each.is_open for each in Invitation.objects.all())
