"""A piece's steps on a phone: four sheets become one piece, and the slump's rates follow that."""

from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from firings.actions.steps import piece_begin
from studio.models import Person
from tests.browser.accessibility import violations
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing, make_glass, make_revision, make_schedule

QUICK_SLUMP: list[tuple[str | None, str, int]] = [
    ("300", "540", 0), ("100", "670", 15), (None, "482", 60), ("80", "370", 0),
]  # fmt: skip


def test_four_sheets_fused_are_slumped_as_one_piece(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    schedule = make_schedule(artist, name="Slump, quick", process="slump")
    make_revision(schedule, QUICK_SLUMP)
    piece = piece_begin(maker=artist, title="Tide bowl", sequence="fuse_slump")
    firing = make_firing(artist, state="firing")
    load_piece(
        firing, piece=piece, glass=make_glass(), layers=4, thickest_mm=12.0, thinnest_mm=12.0,
        length_mm=200.0, width_mm=200.0,
    )  # fmt: skip
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("firings:piece_detail", args=[piece.pk]))
    expect(page.get_by_role("heading", name="Next: full fuse")).to_be_visible()

    page.goto(reverse("firings:firing_open", args=[firing.pk]))
    page.get_by_role("button", name="It is opened").click()
    expect(page.get_by_text("Opened.")).to_be_visible()

    page.goto(reverse("firings:piece_detail", args=[piece.pk]))
    expect(page.get_by_role("heading", name="Next: slump")).to_be_visible()
    expect(page.get_by_text("one piece of 12 mm since the full fuse")).to_be_visible()
    page.get_by_role("link", name="Choose one").click()
    page.get_by_label("Schedule").select_option(label="Slump, quick")
    page.get_by_role("button", name="Save").click()

    # The check speaks of 12 mm, and so does the schedule that is begun from its change.
    expect(page.get_by_role("heading", name="Slump at 12 mm")).to_be_visible()
    expect(page.get_by_text("has 300 °C/h")).to_be_visible()
    expect(page.get_by_text("this piece is thicker")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    assert violations(page) == []
    page.get_by_role("link", name="Make it in a schedule for this piece").first.click()
    expect(page.get_by_label("Thickest, mm")).to_have_value("12.0")

    page.go_back()
    page.get_by_role("button", name="Put it on the waiting list").click()
    expect(page.get_by_text("“Tide bowl” waits for a kiln.")).to_be_visible()
    page.get_by_role("link", name="waits for a kiln").first.click()
    expect(page.get_by_role("heading", name="Slump, soft 90, 12 mm")).to_be_visible()
