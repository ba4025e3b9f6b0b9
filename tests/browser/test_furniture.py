"""A shelf on a phone: put on record, fused on, and washed before the next firing."""

from collections.abc import Callable
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from studio.models import KilnFurniture, Person
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing, make_kiln


def test_a_shelf_is_washed_before_the_next_full_fuse(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    make_kiln()
    page = open_page(artist, viewport=PHONE)
    page.goto("/")
    page.get_by_role("link", name="Kilns", exact=True).click()
    page.get_by_role("link", name="Moulds and shelves").click()
    page.get_by_role("link", name="A mould or a shelf").click()
    page.get_by_label("Name").fill("Shelf, 40 × 40")
    page.get_by_label("What it is").select_option(label="the shelf")
    page.get_by_role("button", name="Save").click()
    shelf = KilnFurniture.objects.get()
    page.get_by_label("Coats").fill("5")
    page.get_by_role("button", name="It is coated anew").click()
    expect(page.get_by_text("5 coats of")).to_be_visible()

    shelf.coated.update(coated_at=timezone.now() - timedelta(days=3))
    fused = make_firing(artist, state="opened", started_at=timezone.now() - timedelta(days=2))
    load_piece(fused, lies_on=shelf, mould="shelf", title="Ebb panel")
    next_one = make_firing(artist, revision=fused.revision)
    load_piece(next_one, lies_on=shelf, mould="shelf", title="Weir panel")
    page.goto(reverse("firings:firing_detail", args=[next_one.pk]))
    expect(page.get_by_text("Wash before this firing").first).to_be_visible()
    page.goto(reverse("firings:furniture_detail", args=[shelf.pk]))
    expect(page.get_by_role("link", name="Ebb panel")).to_be_visible()
    expect(page.get_by_text("Fired on it since: 1 time.")).to_be_visible()

    page.get_by_role("button", name="It is coated anew").click()
    expect(page.get_by_text("Fired on it since: 0 times.")).to_be_visible()
    page.goto(reverse("firings:firing_detail", args=[next_one.pk]))
    expect(page.get_by_text("Wash before this firing")).to_have_count(0)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
