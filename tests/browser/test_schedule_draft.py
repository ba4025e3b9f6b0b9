"""A schedule drafted in the browser: the draft follows what is keyed, and is kept as it stands."""

from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from schedules.models import Schedule
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_family, make_kiln


def test_draft_follows_what_is_keyed_and_is_kept(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    make_family()
    make_kiln("Heron")
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("schedules:schedule_draft"))
    draft = page.locator("#draft")
    expect(draft).to_contain_text("150 °C/h to 540 °C")
    page.get_by_label("Name").fill("Tide fuse")

    page.get_by_label("Thickest").fill("12")
    expect(draft).to_contain_text("95 °C/h to 540 °C")
    expect(draft.locator(".curve.phone path.planned")).to_be_visible()
    expect(page.get_by_label("Name")).to_have_value("Tide fuse")
    page.get_by_label("Thickest").fill("thick")
    expect(draft).to_contain_text("Enter a number of millimetres")
    page.get_by_label("Thickest").fill("12")
    page.get_by_label("Process").select_option("slump")
    expect(draft).to_contain_text("to 665 °C, hold 15 min")
    expect(page.get_by_label("Name")).to_have_value("Tide fuse")

    page.get_by_label("Name").fill("Tide slump")
    page.get_by_role("button", name="Write it as a schedule").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Tide slump")
    assert Schedule.objects.get().thickest_mm == 12.0
