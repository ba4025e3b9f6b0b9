"""A schedule moved to another kiln on a phone: from its page, over the numbers, to the revision."""

from collections.abc import Callable
from datetime import date

from django.urls import reverse
from playwright.sync_api import Page, expect

from studio.models import Person
from tests.browser.accessibility import violations
from tests.browser.conftest import PHONE
from tests.factories import make_kiln, make_revision, make_schedule


def test_moved_from_its_page_with_what_is_known_near_the_anneal(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    tiles = {
        "offset_evidence": "three witness tiles at 804 °C",
        "offset_measured_on": date(2026, 3, 2),
    }
    heron = make_kiln("Heron", **tiles)
    make_kiln(
        "Wren", offset_c=12.0, controller_segments=4, controller_unit="F",
        cooling_constant_h=1.5, slow_cooling_constant_h=3.0, **tiles,
    )  # fmt: skip
    revision = make_revision(make_schedule(artist), written_for=heron)
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("schedules:schedule_detail", args=[revision.schedule_id]))
    page.get_by_role("link", name="Move it to another kiln").click()
    page.get_by_label("Move it to").select_option(label="Wren")
    page.get_by_role("button", name="Work it out").click()
    # 792 °C is 1457.6 °F.
    expect(page.get_by_role("heading", name="Key 1458 °F for 804 °C")).to_be_visible()
    expect(page.get_by_text("unproven here").first).to_be_visible()
    expect(page.get_by_text("taken", exact=True)).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    assert violations(page) == []

    page.get_by_text("What is known near the anneal").click()
    page.get_by_label("Near the anneal the other runs hotter by").fill("5")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_text("Say how it is known")).to_be_visible()
    page.get_by_label("How that is known").fill("one logger in both at the soak")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_text("The anneal soak moves by −9 °F")).to_be_visible()

    page.get_by_role("button", name="Save as the next revision").click()
    expect(page.get_by_text("Revision 2 is written for Wren.")).to_be_visible()
    made = revision.schedule.revisions.latest()
    # 482 − 5 °C is 890.6 °F.
    assert (made.unit, made.segments.count()) == ("F", 4)
    assert 891 in [row.target for row in made.segments.all()]
