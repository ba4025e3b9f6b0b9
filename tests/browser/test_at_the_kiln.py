"""A whole firing on a phone: keyed in, started, watched, a reading without network, opened."""

import re
from collections.abc import Callable
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from firings.models import Firing, FiringState, SpotReading
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing, make_kiln, make_revision

OpenPage = Callable[..., Page]
TWELVE = [(f"{80 + 10 * place}", f"{100 + 50 * place}", 5) for place in range(12)]


def test_a_firing_from_the_card_to_the_opening(artist: Person, open_page: OpenPage) -> None:
    firing = make_firing(artist, title="Ebb panel")
    load_piece(firing)
    page = open_page(artist, viewport=PHONE, goes_offline=True)

    page.goto(reverse("firings:today"))
    page.get_by_role("link", name="Ebb panel").first.click()
    page.get_by_role("link", name="Keying card").click()
    expect(page.locator(".keying > li")).to_have_count(5)
    boxes = page.locator("[data-tick]")
    for box in boxes.all():
        box.check()
    expect(page.locator("[data-ticked]")).to_have_text(f"{boxes.count()} of {boxes.count()} ticked")

    page.goto(reverse("firings:firing_detail", args=[firing.pk]))
    page.get_by_role("link", name="Start").click()
    expect(page.get_by_role("heading", name="Start it")).to_be_visible()
    for box in page.locator("main").get_by_role("checkbox").all():
        box.check()
    page.get_by_role("button", name="It is started").click()
    expect(page.get_by_text("Started.")).to_be_visible()

    page.get_by_role("link", name=re.compile("Watch it")).first.click()
    expect(page.locator('[data-part="shown"]')).to_contain_text("°C")
    page.context.set_offline(True)
    page.get_by_role("button", name="+1", exact=True).click()
    shown = page.get_by_label("The display shows").input_value()
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_role("heading", name="1 not sent yet")).to_be_visible()
    assert not SpotReading.objects.exists()
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name="All is sent")).to_be_visible()
    assert SpotReading.objects.get().temperature_c == float(shown)

    Firing.objects.update(started_at=timezone.now() - timedelta(hours=30))
    page.reload()
    page.get_by_role("link", name="Note the opening").click()
    page.get_by_label("The display then, °C").fill("42")
    page.get_by_role("button", name="It is opened").click()
    expect(page.get_by_text("Opened.")).to_be_visible()
    firing.refresh_from_db()
    assert (firing.state, firing.opened_by) == (FiringState.OPENED, artist)
    assert firing.opened_temperature_c == 42.0
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_its_card_is_printed_on_one_page(artist: Person, open_page: OpenPage) -> None:
    kiln = make_kiln(controller_segments=16, closing_entry="END", hold_format="h.mm")
    short = make_firing(artist, kiln=kiln, title="Ebb panel")
    long = make_firing(
        artist, kiln=kiln, revision=make_revision(short.revision.schedule, TWELVE), title="Tide"
    )
    page = open_page(artist, scripts=False)
    for firing in (short, long):
        page.goto(reverse("firings:firing_card", args=[firing.pk]))
        for paper in ("A4", "Letter"):
            pages = re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper))
            assert len(pages) == 1, f"{firing.title} on {paper}"
