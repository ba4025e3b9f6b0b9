"""A studio device: nobody is signed in on it, and each save asks who."""

from collections.abc import Callable

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client

from firings.models import Firing, FiringState, SpotReading
from studio.models import Person, SharedDevice
from tests.devices import as_saver, device_browser, make_device, with_code
from tests.factories import make_firing

pytestmark = pytest.mark.django_db


@pytest.fixture
def device(keeper: Person) -> tuple[SharedDevice, Client]:
    made, cookie = make_device(keeper)
    return made, device_browser(cookie)


@pytest.fixture
def tablet(device: tuple[SharedDevice, Client]) -> Client:
    return device[1]


@pytest.fixture
def running(artist: Person) -> Firing:
    return make_firing(artist, state=FiringState.FIRING, title="Tide blank")


def reading_of(firing: Firing) -> dict[str, object]:
    return {"temperature_c": "612", "unit": "C", "note": "edges soft"}


def test_keeper_makes_this_browser_a_device_and_is_signed_out_of_it(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(keeper)

    answer = browser.post("/devices/set-up/", {"name": "mill tablet", "unit": "C"}, follow=True)

    made = SharedDevice.objects.get()
    assert (made.name, made.set_up_by) == ("mill tablet", keeper)
    assert "nobody is signed in" in answer.text
    assert "This is the studio device “mill tablet” now." in answer.text
    assert not Session.objects.exists()
    cookie = browser.cookies["studio_device"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert made.digest not in cookie.value
    assert made.digest.encode() not in answer.content


def test_a_save_asks_who_and_carries_what_was_typed(tablet: Client, running: Firing) -> None:
    answer = tablet.post(f"/firings/{running.pk}/now/", reading_of(running))

    assert "Who is this?" in answer.text
    for held in ('name="temperature_c" value="612"', 'name="note" value="edges soft"'):
        assert held in answer.text
    assert not SpotReading.objects.exists()


def test_it_is_saved_as_theirs_and_they_are_forgotten(
    tablet: Client, running: Firing, artist: Person, student: Person
) -> None:
    with_code(artist, student)
    address = f"/firings/{running.pk}/now/"

    answer = tablet.post(address, as_saver(student, **reading_of(running)), follow=True)

    assert SpotReading.objects.get().noted_by == student
    assert "Saved as Ravi." in answer.text
    assert "nobody is signed in" in answer.text
    assert "Who is this?" in tablet.post(address, reading_of(running)).text
    assert settings.SESSION_COOKIE_NAME not in tablet.cookies
    assert not Session.objects.exists()
    assert tablet.get("/signed-in/").json()["person"] is None
    assert tablet.get("/account/").status_code == 403


def test_pages_are_kept_by_no_browser(tablet: Client, running: Firing) -> None:
    for answer in (tablet.get("/"), tablet.post(f"/firings/{running.pk}/now/", {})):
        assert answer["Cache-Control"] == "no-store, private"
