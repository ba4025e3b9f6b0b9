"""A tablet by the kilns: three people in turn, a wrong code, and how it is taken away."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Page, expect

from firings.models import Firing, LoadedPiece, Photograph, SpotReading
from studio.actions.shared_devices import device_take_away
from studio.models import Person, SharedDevice
from tests.browser.accessibility import violations
from tests.browser.conftest import PHONE
from tests.devices import CODES, make_device, with_code
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_place,
    make_revision,
    make_schedule,
)
from tests.firings.pictures import picture_file

pytestmark = pytest.mark.django_db(transaction=True)

TABLET = {"width": 1024, "height": 768}


@pytest.fixture
def tablet(keeper: Person, open_page: Callable[..., Page], live_server: Any) -> Callable[..., Page]:
    def made(**how: Any) -> Page:
        page = open_page(None, **{"viewport": TABLET} | how)
        _, cookie = make_device(keeper)
        token = {"name": "studio_device", "value": cookie, "url": live_server.url}
        page.context.add_cookies([token])  # type: ignore[list-item]
        return page

    return made


def says_who(page: Page, person: Person, code: str = "") -> None:
    expect(page.get_by_role("heading", name="Who is this?").first).to_be_visible()
    page.get_by_label(person.name, exact=True).check()
    page.get_by_label("Your short code").fill(code or CODES[person.sign_in_name])
    page.get_by_role("button", name="Save").click()


def nobody_is_signed_in(page: Page) -> None:
    expect(page.get_by_text("nobody is signed in")).to_be_visible()
    assert not Session.objects.exists()
    assert page.request.get("/account/").status == 403


@pytest.mark.parametrize(
    "how", [{}, {"scripts": False}, {"viewport": PHONE}], ids=["tablet", "no script", "phone"]
)
def test_three_people_in_turn(
    how: dict[str, Any],
    artist: Person,
    student: Person,
    instructor: Person,
    tablet: Callable[..., Page],
) -> None:
    with_code(artist, student, instructor)
    kiln = make_kiln("Heron")
    make_place(kiln, is_reference=True)
    revision = make_revision(make_schedule(instructor), written_for=kiln)
    running = make_firing(artist, kiln=kiln, revision=revision, state="firing")
    opened = make_firing(
        student,
        kiln=make_kiln("Wren"),
        revision=revision,
        state="opened",
        opened_at=timezone.now() - timedelta(hours=2),
    )
    loaded = load_piece(opened)
    page = tablet(**how)

    page.goto("/")
    page.get_by_role("link", name="Watch it").click()
    page.get_by_label("The display shows").fill("612")
    page.get_by_role("button", name="Note it").click()
    says_who(page, artist)
    expect(page.get_by_text("Saved as Inka.")).to_be_visible()
    assert SpotReading.objects.get().noted_by == artist
    nobody_is_signed_in(page)

    page.goto("/")
    page.get_by_role("link", name=f"Judge {loaded.piece.title}").click()
    page.get_by_text("as wanted", exact=True).click()
    page.get_by_role("button", name="Save").click()
    says_who(page, student)
    expect(page.get_by_text("Saved as Ravi.")).to_be_visible()
    loaded.refresh_from_db()
    assert (loaded.verdict, loaded.judged_by) == (0, student)
    nobody_is_signed_in(page)

    page.goto("/")
    page.get_by_role("link", name="Plan a firing").click()
    page.get_by_label("Title").fill("Relief tiles")
    page.get_by_label("Kiln", exact=True).select_option(label="Wren")
    page.get_by_label("Schedule").select_option(str(revision.pk))
    page.get_by_role("button", name="Plan it").click()
    says_who(page, instructor)
    expect(page.get_by_text("Saved as Oona.")).to_be_visible()
    planned = Firing.objects.get(title="Relief tiles")
    assert (planned.fired_by, planned.written_by) == (instructor, instructor)
    nobody_is_signed_in(page)
    assert running.spot_readings.count() == 1


def test_a_wrong_code_five_times_is_told_and_what_was_typed_stays(
    artist: Person, student: Person, tablet: Callable[..., Page]
) -> None:
    with_code(artist, student)
    running = make_firing(artist, state="firing")
    page = tablet(is_refused=True)
    page.goto(f"/firings/{running.pk}/now/")
    page.get_by_label("The display shows").fill("612")
    page.get_by_role("button", name="Note it").click()
    for _ in range(4):
        says_who(page, artist, "0019")
        expect(page.get_by_role("alert")).to_contain_text("That is not the code.")
        expect(page.get_by_label("Your short code")).to_have_value("")
    says_who(page, artist, "0019")
    expect(page.get_by_role("alert")).to_contain_text("5 wrong codes for Inka")
    says_who(page, artist)
    expect(page.get_by_role("alert")).to_contain_text("This device takes none for Inka until")

    says_who(page, student)

    expect(page.get_by_text("Saved as Ravi.")).to_be_visible()
    assert SpotReading.objects.get().temperature_c == 612


def test_a_photograph_goes_with_the_code_of_whoever_took_it(
    artist: Person, student: Person, tablet: Callable[..., Page]
) -> None:
    with_code(artist, student)
    running = make_firing(artist, state="firing")
    picture = {"name": "shelf.jpg", "mimeType": "image/jpeg", "buffer": picture_file().read()}
    page = tablet()
    page.goto(f"/firings/{running.pk}/now/")
    page.get_by_text("Photograph", exact=True).click()
    page.get_by_label("Photographs").set_input_files(picture)  # type: ignore[arg-type]
    page.get_by_label("Caption").fill("the whole shelf")
    page.get_by_label("Ravi", exact=True).check()
    page.get_by_label("Your short code").fill("0019")
    page.get_by_role("button", name="Add the photograph").click()
    expect(page.get_by_role("alert")).to_contain_text("That is not the code.")
    page.get_by_label("shelf.jpg").set_input_files(picture)  # type: ignore[arg-type]
    says_who(page, student)
    expect(page.get_by_text("Saved as Ravi.")).to_be_visible()
    kept = Photograph.objects.get()
    assert (kept.taken_by, kept.caption) == (student, "the whole shelf")


def test_set_up_on_the_spot_and_taken_away_from_elsewhere(
    keeper: Person, artist: Person, open_page: Callable[..., Page]
) -> None:
    page = open_page(keeper, viewport=TABLET, is_refused=True)
    page.goto("/studio/")
    page.get_by_role("link", name="Studio devices").click()
    page.get_by_role("link", name="Make this a studio device").click()
    page.get_by_label("Name").fill("mill tablet")
    page.get_by_role("button", name="Make this a studio device").click()
    expect(page.get_by_text("This is the studio device “mill tablet” now.")).to_be_visible()
    nobody_is_signed_in(page)
    page.go_back()
    expect(page.get_by_text("Not on a studio device").first).to_be_visible()

    device_take_away(device=SharedDevice.objects.get(), by=keeper)
    page.get_by_role("link", name="Logbook").click()
    expect(page.get_by_text("Mads took “mill tablet” away")).to_be_visible()
    expect(page.get_by_role("button", name="Sign in")).to_be_visible()


@pytest.mark.parametrize(("viewport", "dark"), [(TABLET, False), (PHONE, True)])
def test_its_pages_are_accessible_and_within_the_screen(
    viewport: dict[str, int], dark: bool, artist: Person, tablet: Callable[..., Page]
) -> None:
    with_code(artist)
    running = make_firing(artist, state="firing")
    load_piece(running)
    page = tablet(viewport=viewport, dark=dark)

    def look(name: str) -> None:
        found.extend(
            f"{name}: {each['id']} {each['nodes'][0]['target']}" for each in violations(page)
        )
        if page.evaluate("document.documentElement.scrollWidth") > viewport["width"]:
            found.append(f"{name}: wider than the screen")

    found: list[str] = []
    for address in ("/", "/device/", f"/firings/{running.pk}/photographs/add/"):
        page.goto(address)
        look(address)
    page.goto(f"/firings/{running.pk}/now/")
    page.get_by_label("The display shows").fill("612")
    page.get_by_role("button", name="Note it").click()
    look("who")
    page.get_by_role("link", name="Leave it").click()
    expect(page.get_by_role("button", name="Note it")).to_be_visible()
    assert found == []
    assert not LoadedPiece.objects.filter(verdict__isnull=False).exists()
