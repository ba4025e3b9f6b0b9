from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from studio.models import Person
from tests.factories import PASSWORD, make_person

pytestmark = pytest.mark.django_db
SIGN_IN = "/sign-in/"


def test_person_signs_in_whatever_the_capitals(artist: Person, outsider: Client) -> None:
    response = outsider.post(SIGN_IN, {"username": " INKA", "password": PASSWORD})

    assert response.headers["Location"] == reverse("firings:today")
    assert outsider.session["_auth_user_id"] == str(artist.pk)


def test_sign_in_leads_to_the_page_that_was_asked_for(artist: Person, outsider: Client) -> None:
    led = outsider.get("/kilns/").headers["Location"]
    page = outsider.get(led)
    assert b'name="next" value="/kilns/"' in page.content

    asked = {"username": "inka", "password": PASSWORD, "next": "/kilns/"}
    assert outsider.post(SIGN_IN, asked).headers["Location"] == "/kilns/"


def test_sign_in_leads_to_no_other_site(artist: Person, outsider: Client) -> None:
    asked = {"username": "inka", "password": PASSWORD, "next": "https://elsewhere.example/"}

    assert outsider.post(SIGN_IN, asked).headers["Location"] == reverse("firings:today")


def test_wrong_password_says_so_and_keeps_the_name(artist: Person, outsider: Client) -> None:
    response = outsider.post(SIGN_IN, {"username": "inka", "password": "wrong"})

    assert response.status_code == 200
    assert "don’t belong together" in response.text
    assert 'value="inka"' in response.text


def test_closed_account_cannot_sign_in(outsider: Client) -> None:
    make_person("tove", is_active=False)

    response = outsider.post(SIGN_IN, {"username": "tove", "password": PASSWORD})

    assert response.status_code == 200
    assert "_auth_user_id" not in outsider.session


def test_tenth_wrong_password_closes_the_door_for_a_while(artist: Person, outsider: Client) -> None:
    for number in range(10):  # the capitals make no other name of it
        name = "inka" if number % 2 else "Inka"
        response = outsider.post(SIGN_IN, {"username": name, "password": "wrong"})

    assert response.status_code == 429
    assert "Wait a little" in response.text
    right = outsider.post(SIGN_IN, {"username": "inka", "password": PASSWORD})
    assert right.status_code == 429


def test_sign_in_of_an_empty_studio_leads_to_the_first_visit(outsider: Client) -> None:
    assert outsider.get(SIGN_IN).headers["Location"] == reverse("studio:first_visit")


def test_sign_out_is_by_post_only(artist: Person, signed_in: Callable[[Person], Client]) -> None:
    browser = signed_in(artist)

    assert browser.get("/sign-out/").status_code == 405
    assert browser.post("/sign-out/").headers["Location"] == SIGN_IN
    assert browser.get("/account/").status_code == 302


def test_without_mail_the_keeper_is_named(
    artist: Person, outsider: Client, settings: pytest.FixtureRequest
) -> None:
    settings.MAIL_WORKS = False

    assert "Ask the studio’s keeper" in outsider.get(SIGN_IN).text
    assert outsider.get("/password/forgotten/").status_code == 404
