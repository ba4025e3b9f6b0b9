from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from studio.models import Invitation, Person
from tests.factories import make_person

INVITE = "/people/invite/"


def answers(**overrides: Any) -> dict[str, Any]:
    return {"invited_for": "Tove", "role": "student", "email": ""} | overrides


@pytest.mark.parametrize("role", ["keeper", "instructor", "artist", "student"])
def test_keeper_invites_to_any_role(
    role: str, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(keeper)

    response = browser.post(INVITE, answers(role=role), follow=True)

    invitation = Invitation.objects.get()
    assert (invitation.role, invitation.invited_by) == (role, keeper)
    assert f"/invitation/{invitation.token}/" in response.text


@pytest.mark.parametrize("role", ["keeper", "instructor", "artist"])
def test_instructor_invites_students_only(
    role: str, instructor: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(instructor)

    refused = browser.post(INVITE, answers(role=role))

    assert refused.context["form"].errors["role"]
    assert 'value="Tove"' in refused.text
    assert not Invitation.objects.exists()
    assert browser.post(INVITE, answers()).status_code == 302


@pytest.mark.parametrize("role", ["artist", "student"])
def test_others_invite_nobody(role: str, signed_in: Callable[[Person], Client], db: None) -> None:
    browser = signed_in(make_person("inka", role=role))

    assert browser.get(INVITE).status_code == 403
    assert browser.post(INVITE, answers()).status_code == 403


def test_form_sent_twice_makes_one_invitation(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser, asked = signed_in(keeper), answers(form_key=uuid4())

    first, second = browser.post(INVITE, asked), browser.post(INVITE, asked)

    assert first.headers["Location"] == second.headers["Location"]
    assert Invitation.objects.count() == 1


def test_instructor_sees_and_withdraws_only_their_own(
    keeper: Person, instructor: Person, signed_in: Callable[[Person], Client]
) -> None:
    of_keeper = Invitation.objects.create(invited_for="Aldo", invited_by=keeper)
    own = Invitation.objects.create(invited_for="Tove", invited_by=instructor)
    browser = signed_in(instructor)

    page = browser.get("/people/").text
    assert "Tove" in page
    assert "Aldo" not in page
    assert browser.get(f"/people/invitations/{of_keeper.pk}/").status_code == 403
    assert browser.post(f"/people/invitations/{of_keeper.pk}/withdraw/").status_code == 403
    assert browser.post(f"/people/invitations/{own.pk}/withdraw/").status_code == 302
    own.refresh_from_db()
    of_keeper.refresh_from_db()
    assert not own.is_open
    assert of_keeper.is_open


def test_used_invitation_cannot_be_withdrawn(
    keeper: Person, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    used = Invitation.objects.create(invited_for="Inka", invited_by=keeper, used_by=artist)
    browser = signed_in(keeper)

    answer = browser.post(f"/people/invitations/{used.pk}/withdraw/", follow=True)

    assert "used already" in answer.text
    used.refresh_from_db()
    assert used.withdrawn_at is None
    assert "Inka</a> has an account" in browser.get(f"/people/invitations/{used.pk}/").text
