from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from studio.actions.people import InvitationGoneError, invitation_accept
from studio.models import Invitation, Person
from tests.factories import PASSWORD


def answers(**overrides: Any) -> dict[str, Any]:
    return {
        "name": "Tove Lind",
        "sign_in_name": "tove",
        "email": "",
        "unit": "C",
        "password1": PASSWORD,
        "password2": PASSWORD,
    } | overrides


@pytest.fixture
def invitation(keeper: Person) -> Invitation:
    return Invitation.objects.create(
        invited_for="Tove", email="tove@millrace.example", role="student", invited_by=keeper
    )


@pytest.fixture
def address(invitation: Invitation) -> str:
    return reverse("studio:invitation_accept", args=[invitation.token])


def test_invited_person_makes_an_account_and_is_signed_in(
    invitation: Invitation, address: str, outsider: Client
) -> None:
    assert 'value="tove@millrace.example"' in outsider.get(address).text

    response = outsider.post(address, answers())

    tove = Person.objects.get(sign_in_name="tove")
    assert response.headers["Location"] == reverse("firings:today")
    assert (tove.role, outsider.session["_auth_user_id"]) == ("student", str(tove.pk))
    invitation.refresh_from_db()
    assert invitation.used_by == tove


@pytest.mark.parametrize("name", ["Tove", "Émile"])
def test_capitals_of_the_sign_in_name_make_no_difference(
    name: str, address: str, outsider: Client
) -> None:
    outsider.post(address, answers(sign_in_name=name))

    for typed in (name, name.lower(), name.upper()):
        signed = Client().post("/sign-in/", {"username": typed, "password": PASSWORD})
        assert signed.status_code == 302, typed


def test_a_name_that_differs_in_capitals_only_is_taken(
    keeper: Person, address: str, outsider: Client
) -> None:
    outsider.post(address, answers(sign_in_name="émile"))
    second = Invitation.objects.create(invited_for="Second", invited_by=keeper)
    other = reverse("studio:invitation_accept", args=[second.token])

    response = Client().post(other, answers(sign_in_name="ÉMILE"))

    assert response.context["form"].errors["sign_in_name"]


def test_role_cannot_be_asked_for(address: str, outsider: Client) -> None:
    outsider.post(address, answers(role="keeper"))

    assert Person.objects.get(sign_in_name="tove").role == "student"


def test_link_makes_one_account(address: str, outsider: Client) -> None:
    outsider.post(address, answers())

    second = Client().post(address, answers(sign_in_name="other"))

    assert second.status_code == 410
    assert "This invitation is closed" in second.text
    assert not Person.objects.filter(sign_in_name="other").exists()


def test_own_form_sent_again_leads_on(address: str, outsider: Client) -> None:
    outsider.post(address, answers())

    again = outsider.post(address, answers())

    assert again.headers["Location"] == reverse("firings:today")
    assert Person.objects.filter(sign_in_name="tove").count() == 1


def test_expired_link_is_gone(address: str, outsider: Client) -> None:
    with time_machine.travel(timezone.now() + timedelta(days=14, minutes=1)):
        assert outsider.get(address).status_code == 410


def test_withdrawn_link_is_gone(invitation: Invitation, address: str, outsider: Client) -> None:
    invitation.withdrawn_at = timezone.now()
    invitation.save()

    assert outsider.post(address, answers()).status_code == 410


def test_altered_link_is_no_page(address: str, outsider: Client) -> None:
    assert outsider.get(address[:-3] + "xx/").status_code == 404
    assert outsider.get("/invitation/MQ/").status_code == 404


def test_invitation_that_is_used_meanwhile_makes_no_second_account(
    invitation: Invitation, artist: Person
) -> None:
    Invitation.objects.filter(pk=invitation.pk).update(used_by=artist)

    with pytest.raises(InvitationGoneError):
        invitation_accept(
            invitation=invitation, name="Tove", sign_in_name="tove", password=PASSWORD
        )
    assert not Person.objects.filter(sign_in_name="tove").exists()


def test_taken_name_is_said_at_its_field(address: str, artist: Person, outsider: Client) -> None:
    response = outsider.post(address, answers(sign_in_name="INKA"))

    assert "signs in by that name already" in str(response.context["form"].errors["sign_in_name"])
    assert 'value="Tove Lind"' in response.text


def test_link_closes_when_its_maker_is_deactivated(
    keeper: Person,
    instructor: Person,
    outsider: Client,
    signed_in: Callable[[Person], Client],
) -> None:
    invitation = Invitation.objects.create(invited_for="Tove", invited_by=instructor)

    signed_in(keeper).post(f"/people/{instructor.pk}/deactivate/")

    address = reverse("studio:invitation_accept", args=[invitation.token])
    assert outsider.get(address).status_code == 410
