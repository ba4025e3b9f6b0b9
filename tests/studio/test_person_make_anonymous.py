"""Somebody who left loses their name; what they fired and made stays."""

from collections.abc import Callable

import pytest
from axes.models import AccessAttempt
from django.core.exceptions import ValidationError
from django.test import Client

from studio.actions.people import LEFT, person_make_anonymous
from studio.models import Invitation, Person
from tests.factories import load_piece, make_firing

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def left(artist: Person, keeper: Person) -> Person:
    artist.email, artist.is_active = "inka@millrace.example", False
    artist.save()
    Invitation.objects.create(invited_for="Inka", invited_by=keeper, used_by=artist)
    return artist


def where(person: Person) -> str:
    return f"/people/{person.pk}/make-anonymous/"


def test_name_and_address_go_and_the_work_stays(
    left: Person, keeper: Person, signed_in: SignIn
) -> None:
    firing = make_firing(left, state="opened")
    load_piece(firing)
    client = signed_in(keeper)
    assert where(left) in client.get(f"/people/{left.pk}/").text
    client.post(where(left), {"name": "Inka"})
    left.refresh_from_db()
    assert (left.name, left.email, left.sign_in_name) == (LEFT, "", f"left-{left.pk}")
    assert not left.has_usable_password()
    assert Invitation.objects.get().invited_for == LEFT
    for page in (f"/firings/{firing.pk}/", "/logbook/", f"/people/{left.pk}/"):
        text = client.get(page).text
        assert LEFT in text
        assert "Inka" not in text


def test_no_sign_in_is_kept_under_the_old_name(
    left: Person, keeper: Person, outsider: Client
) -> None:
    for name in ("inka", "Inka", keeper.sign_in_name):
        outsider.post("/sign-in/", {"username": name, "password": "not-this-phrase"})
    assert AccessAttempt.objects.count() == 2  # capitals make no difference

    person_make_anonymous(person=left)

    assert [each.username for each in AccessAttempt.objects.all()] == [keeper.sign_in_name]


def test_the_trail_names_nobody(left: Person, keeper: Person, signed_in: SignIn) -> None:
    firing = make_firing(left)
    signed_in(left)
    firing.title = "Tide blank"
    firing._history_user = left  # as if they had changed it
    firing.save()

    person_make_anonymous(person=left)

    page = signed_in(keeper).get(f"/trail/firing/{firing.pk}/").text
    assert f"by {LEFT}" in page
    assert "Inka" not in page


def test_the_name_is_typed_once_more(left: Person, keeper: Person, signed_in: SignIn) -> None:
    page = signed_in(keeper).post(where(left), {"name": "Inko"})
    assert "That is not “Inka”." in page.text
    left.refresh_from_db()
    assert left.name == "Inka"


def test_an_open_account_keeps_its_name(artist: Person, keeper: Person, signed_in: SignIn) -> None:
    page = signed_in(keeper).post(where(artist), {"name": "Inka"})
    assert "Close the account first." in page.text
    with pytest.raises(ValidationError, match="Close the account"):
        person_make_anonymous(person=artist)


def test_a_keeper_alone_may(left: Person, instructor: Person, signed_in: SignIn) -> None:
    assert signed_in(instructor).post(where(left), {"name": "Inka"}).status_code == 403
