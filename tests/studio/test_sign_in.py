from collections.abc import Callable

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from studio.models import Person
from studio.requests import visitor_address
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


def wrong_password(client: Client, forwarded_for: str) -> int:
    asked = {"username": "inka", "password": "wrong"}
    return client.post(SIGN_IN, asked, headers={"X-Forwarded-For": forwarded_for}).status_code


def test_behind_a_proxy_only_the_visitor_who_guesses_waits(
    artist: Person, outsider: Client, settings: pytest.FixtureRequest
) -> None:
    settings.PROXIES = 1
    for _ in range(10):
        closed = wrong_password(outsider, "203.0.113.7")

    assert closed == 429
    assert wrong_password(outsider, "203.0.113.8") == 200


@pytest.mark.parametrize("proxies", [0, 1])
def test_an_invented_address_opens_no_closed_door(
    proxies: int, artist: Person, outsider: Client, settings: pytest.FixtureRequest
) -> None:
    settings.PROXIES = proxies
    for number in range(10):
        closed = wrong_password(outsider, f"198.51.100.{number}, 203.0.113.7")

    assert closed == 429


@pytest.mark.parametrize(
    ("proxies", "told", "meant"),
    [
        (0, "203.0.113.7", "127.0.0.1"),
        (1, "203.0.113.7", "203.0.113.7"),
        (2, "198.51.100.1, 203.0.113.7, 10.0.0.2", "203.0.113.7"),
        (2, "203.0.113.7", "127.0.0.1"),
        (1, "", "127.0.0.1"),
        (1, "unknown", "127.0.0.1"),
        (1, "2001:db8::7", "2001:db8::7"),
    ],
)
def test_visitors_address_is_what_the_outermost_proxy_heard(
    proxies: int, told: str, meant: str, settings: pytest.FixtureRequest
) -> None:
    settings.PROXIES = proxies
    request = RequestFactory().get("/", headers={"X-Forwarded-For": told})

    assert visitor_address(request) == meant


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
