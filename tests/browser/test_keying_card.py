"""A schedule keyed in on a phone, number by number, read back; and the card on one printed page."""

import re
from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from studio.models import Person
from tests.browser.accessibility import violations
from tests.browser.conftest import PHONE
from tests.factories import make_firing, make_kiln, make_revision, make_schedule

SIXTEEN = [(f"{50 + place}", f"{100 + 40 * place}", 5) for place in range(16)]


def test_keyed_in_ticked_and_read_back(artist: Person, open_page: Callable[..., Page]) -> None:
    kiln = make_kiln(hold_format="h.mm", full_power_entry="9999", closing_entry="END")
    firing = make_firing(artist, kiln=kiln)
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("firings:firing_detail", args=[firing.pk]))
    page.get_by_role("link", name="Keying card").click()
    lines = page.locator(".keying > li")
    expect(lines).to_have_count(6)
    for box in lines.nth(0).get_by_role("checkbox").all():
        box.check()
    lines.nth(3).get_by_text("9999", exact=True).click()
    expect(page.locator("[data-ticked]")).to_have_text("5 of 21 ticked")
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    assert violations(page) == []

    page.reload()
    expect(page.locator("[data-ticked]")).to_have_text("5 of 21 ticked")
    expect(lines.nth(0).get_by_label("Reads back the same")).to_be_checked()
    page.get_by_role("button", name="Take all ticks off").click()
    page.reload()
    expect(lines.nth(0).get_by_label("Reads back the same")).not_to_be_checked()


def test_card_is_printed_on_one_page(artist: Person, open_page: Callable[..., Page]) -> None:
    schedule = make_schedule(artist)
    short, long = make_revision(schedule), make_revision(schedule, SIXTEEN)
    kiln = make_kiln(
        controller_segments=16, closing_entry="END", controller_unit="F", hold_format="h.mm"
    )
    page = open_page(artist, scripts=False)
    for revision in (short, long):
        address = reverse("schedules:keying_card", args=[schedule.pk, revision.number])
        page.goto(f"{address}?kiln={kiln.pk}")
        for paper in ("A4", "Letter"):
            pages = re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper))
            assert len(pages) == 1, f"revision {revision.number} on {paper}"
