"""A finished piece on a phone: laid on a storage shelf, overdue, and collected."""

from collections.abc import Callable
from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from firings.models import StoredPiece
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing


def test_laid_down_overdue_and_collected(artist: Person, open_page: Callable[..., Page]) -> None:
    piece = load_piece(make_firing(artist, state="opened"), title="Weir bowl").piece
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("firings:piece_detail", args=[piece.pk]))
    page.get_by_role("link", name="Put it on a storage shelf").click()
    page.get_by_label("Where it lies").fill("Rack B, second shelf")
    page.get_by_label("Kept until").fill(str(timezone.localdate() + timedelta(days=14)))
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Rack B, second shelf").first).to_be_visible()

    StoredPiece.objects.update(keep_until=timezone.localdate() - timedelta(days=1))
    page.goto("/")
    collect = page.get_by_role("region", name="To be collected")
    expect(collect.get_by_text("overdue", exact=True)).to_be_visible()
    collect.get_by_role("link", name="I have it").click()
    page.get_by_label("collected", exact=True).check()
    page.get_by_role("button", name="Save").click()
    stay = StoredPiece.objects.get()
    assert (stay.ended_how, stay.ended_by) == ("collected", artist)
    page.goto("/")
    expect(page.get_by_text("Rack B")).to_have_count(0)
    page.goto(reverse("firings:piece_detail", args=[piece.pk]))
    expect(page.get_by_text("it lay at Rack B, second shelf")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
