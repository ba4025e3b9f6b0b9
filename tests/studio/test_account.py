from collections.abc import Callable

from django.test import Client

from studio.models import Person
from tests.factories import PASSWORD, make_kiln


def test_person_changes_name_and_unit(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    make_kiln(max_temperature_c=950.0)
    browser = signed_in(artist)
    assert "950 °C" in browser.get("/kilns/").text

    browser.post("/account/", {"name": "Inka Sorrel", "email": "", "unit": "F"})

    artist.refresh_from_db()
    assert (artist.name, artist.unit) == ("Inka Sorrel", "F")
    assert "1742 °F" in browser.get("/kilns/").text


def test_account_changes_no_role(artist: Person, signed_in: Callable[[Person], Client]) -> None:
    asked = {"name": "Inka", "email": "", "unit": "C", "role": "keeper", "is_active": ""}

    signed_in(artist).post("/account/", asked)

    artist.refresh_from_db()
    assert (artist.role, artist.is_active) == ("artist", True)


def test_bad_address_is_said_at_its_field(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    asked = {"name": "Inka Sorrel", "email": "inka@", "unit": "F"}

    response = signed_in(artist).post("/account/", asked)

    assert response.context["form"].errors["email"]
    assert 'value="inka@"' in response.text
    assert "Inka · °C" in response.text  # the page's head shows what is on record


def test_person_changes_the_password_and_stays_signed_in(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(artist)
    asked = {
        "old_password": PASSWORD,
        "new_password1": "another-long-phrase",
        "new_password2": "another-long-phrase",
    }

    assert browser.post("/account/password/", asked).headers["Location"] == "/account/"
    assert browser.get("/account/").status_code == 200
    artist.refresh_from_db()
    assert artist.check_password("another-long-phrase")


def test_wrong_old_password_changes_nothing(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    asked = {
        "old_password": "wrong",
        "new_password1": "another-long-phrase",
        "new_password2": "another-long-phrase",
    }

    response = signed_in(artist).post("/account/password/", asked)

    assert response.context["form"].errors["old_password"]
    artist.refresh_from_db()
    assert artist.check_password(PASSWORD)
