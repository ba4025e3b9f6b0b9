"""Noted beside a kiln while there is no network: nothing is lost, nothing is there twice."""

import re
from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from firings.models import Firing, FiringEvent, Photograph, SpotReading
from studio.models import Person
from tests.browser.accessibility import violations
from tests.browser.conftest import ARGUMENTS, CHROMIUM, PHONE
from tests.factories import PASSWORD, make_firing, make_person

OpenPage = Callable[..., Page]


@pytest.fixture
def firing(artist: Person) -> Firing:
    return make_firing(artist, state="firing", started_at=timezone.now() - timedelta(hours=2))


@pytest.fixture
def page(firing: Firing, artist: Person, open_page: OpenPage) -> Page:
    """The live page on a phone, once its worker keeps it."""
    page = open_page(artist, viewport=PHONE, goes_offline=True)
    page.goto(now_page(firing))
    wait_for_worker(page)
    return page


def wait_for_worker(page: Page) -> None:
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    has_it = "caches.match(location.pathname).then((kept) => Boolean(kept))"
    for _ in range(50):
        if page.evaluate(has_it):
            break
        page.wait_for_timeout(50)
    assert page.evaluate(has_it)


def now_page(firing: Firing) -> str:
    return reverse("firings:firing_now", args=[firing.pk])


def cut(page: Page) -> None:
    page.context.set_offline(True)


def mend(page: Page) -> None:
    page.context.set_offline(False)


def kept(page: Page) -> Locator:
    return page.locator("#kept li")


def note_reading(page: Page, shown: str) -> None:
    page.get_by_label("The display shows").fill(shown)
    page.get_by_role("button", name="Note it").click()


def picture() -> bytes:
    file = BytesIO()
    Image.new("RGB", (320, 240), "teal").save(file, "JPEG")
    return file.getvalue()


def test_noted_without_network_it_is_sent_once_with_its_time(page: Page, firing: Firing) -> None:
    cut(page)
    began = timezone.now()
    note_reading(page, "309")
    expect(kept(page)).to_contain_text([re.compile(r"reading: 309\s°C · noted .* · not sent yet")])
    page.get_by_text("Note an event").click()
    page.get_by_label("What").select_option(label="vented")
    page.get_by_label("Note (optional)").fill("a finger wide")
    page.get_by_role("button", name="Note the event").click()
    page.get_by_text("Photograph", exact=True).click()
    page.get_by_label("Photographs").set_input_files(
        {"name": "peephole.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    )
    page.get_by_role("button", name="Add the photograph").click()
    expect(page.get_by_role("heading", name="3 not sent yet")).to_be_visible()
    noted = timezone.now()
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.wait_for_timeout(1500)

    page.reload()  # from what the worker kept
    expect(page.locator('[data-part="network"]')).to_contain_text("No network since")
    expect(page.locator('[data-part="shown"]')).to_contain_text("°C")
    expect(page.get_by_role("heading", name="3 not sent yet")).to_be_visible()
    assert not SpotReading.objects.exists()

    mend(page)
    expect(page.get_by_role("heading", name="All is sent")).to_be_visible()
    assert kept(page).count() == 3
    expect(kept(page).last).to_contain_text("sent")
    expect(page.locator("#now")).to_contain_text("309")
    reading, event, photograph = (
        model.objects.get() for model in (SpotReading, FiringEvent, Photograph)
    )
    assert (reading.temperature_c, event.kind, event.note) == (309.0, "vented", "a finger wide")
    moments = [reading.at, event.happened_at, photograph.added_at]
    assert moments == sorted(moments)
    late = timedelta(seconds=1)  # by how much the way to the server was longer than the way back
    assert began - late < moments[0]
    assert moments[2] < noted + late


def test_signed_out_it_waits_for_its_own_person(page: Page, firing: Firing, artist: Person) -> None:
    cut(page)
    note_reading(page, "310")
    expect(page.get_by_role("heading", name="1 not sent yet")).to_be_visible()
    Session.objects.all().delete()
    mend(page)
    expect(page.locator("#kept")).to_contain_text("Nobody is signed in any more")
    page.get_by_role("link", name="Sign in").click()
    expect(page.locator("#kept")).to_contain_text("until whoever noted it")
    assert page.evaluate("caches.has('pages')") is False

    sign_in(page, make_person("wilf", role="keeper"))
    expect(page.locator("#kept")).to_contain_text("until whoever noted it")
    expect(kept(page)).to_have_count(0)
    assert not SpotReading.objects.exists()

    page.goto(reverse("studio:account"))
    page.get_by_role("button", name="Sign out").click()
    sign_in(page, artist)
    expect(page.get_by_role("heading", name="All is sent")).to_be_visible()
    assert SpotReading.objects.get().noted_by == artist


def sign_in(page: Page, person: Person) -> None:
    page.get_by_label("Name").fill(person.sign_in_name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_two_tabs_send_it_once(page: Page, firing: Firing) -> None:
    second = page.context.new_page()
    second.goto(now_page(firing))
    cut(page)
    for number in range(3):
        note_reading(page, str(300 + number))
    expect(second.get_by_role("heading", name="3 not sent yet")).to_be_visible()
    mend(page)
    for tab in (page, second):
        expect(tab.get_by_role("heading", name="All is sent")).to_be_visible()
    # Noted within a second, and each request counts back from its own now: no order among them.
    shown = SpotReading.objects.values_list("temperature_c", flat=True)
    assert sorted(shown) == [300.0, 301.0, 302.0]


def test_what_is_refused_stays_to_be_mended(page: Page, firing: Firing) -> None:
    cut(page)
    note_reading(page, "3100")
    note_reading(page, "311")
    expect(page.get_by_role("heading", name="2 not sent yet")).to_be_visible()
    page.reload()
    mend(page)
    expect(page.get_by_role("heading", name="1 not taken", exact=True)).to_be_visible()
    expect(kept(page).first).to_contain_text("Between")
    assert SpotReading.objects.get().temperature_c == 311.0
    page.get_by_role("button", name="Mend it").click()
    expect(page.get_by_label("The display shows")).to_have_value("3100")
    note_reading(page, "310")
    expect(page.get_by_role("heading", name="All is sent")).to_be_visible()
    mended, right = SpotReading.objects.order_by("at")
    assert (mended.temperature_c, right.temperature_c) == (310.0, 311.0)


def test_it_outlives_the_browser(
    firing: Firing, artist: Person, browser: Browser, live_server: Any, tmp_path: Path
) -> None:
    def opened() -> BrowserContext:
        return browser.browser_type.launch_persistent_context(
            tmp_path, executable_path=CHROMIUM, args=ARGUMENTS, base_url=live_server.url
        )

    context = opened()
    page = context.new_page()
    page.goto(now_page(firing))
    sign_in(page, artist)
    wait_for_worker(page)
    cut(page)
    note_reading(page, "313")
    expect(page.get_by_role("heading", name="1 not sent yet")).to_be_visible()
    context.close()

    context = opened()
    context.set_offline(True)
    page = context.new_page()
    page.goto(now_page(firing))
    expect(page.get_by_role("heading", name="1 not sent yet")).to_be_visible()
    mend(page)
    expect(page.get_by_role("heading", name="All is sent")).to_be_visible()
    context.close()
    assert SpotReading.objects.get().temperature_c == 313.0


def test_with_network_a_wrong_one_comes_back_into_its_form(page: Page) -> None:
    note_reading(page, "hot")
    expect(page.get_by_role("alert")).to_contain_text("Enter a number")
    expect(page.get_by_label("The display shows")).to_have_value("hot")
    note_reading(page, "312")
    expect(page.get_by_role("heading", name="All is sent")).to_be_visible()
    assert SpotReading.objects.get().temperature_c == 312.0
