"""Remarks in the browser: they follow what is typed, and one tap mends what they speak of."""

from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from studio.models import Person
from tests.browser.accessibility import violations
from tests.browser.conftest import PHONE
from tests.factories import make_firing
from tests.schedules.hasty import make_hasty


def test_one_tap_mends_and_nothing_typed_is_lost(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    hasty = make_hasty(artist)
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("schedules:revision_copy", args=[hasty.schedule_id, 1]))
    page.get_by_label("Why the change").fill("Softer corners")
    beside = page.locator("#remarks-4")
    expect(beside).to_contain_text("The anneal soak is 20 min")

    # What is typed brings another remark, and the field keeps the focus.
    hold = page.locator("#id_segments-3-hold")
    hold.fill("25")
    expect(beside).to_contain_text("The anneal soak is 25 min")
    expect(hold).to_be_focused()

    beside.get_by_role("button", name="Make this change").click()
    expect(page.locator("#id_segments-3-hold")).to_have_value("1:00")
    expect(page.locator("#id_segments-3-hold")).to_be_focused()
    expect(page.get_by_text("was 25")).to_be_visible()
    expect(page.locator("#remarks-4")).to_be_empty()
    expect(page.get_by_label("Why the change")).to_have_value("Softer corners")
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    assert violations(page) == []
    assert hasty.schedule.revisions.count() == 1

    page.get_by_role("button", name="Save the next revision").last.click()
    expect(page.get_by_text("Revision 2 is on record.")).to_be_visible()


def test_schedule_page_mends_with_two_taps(artist: Person, open_page: Callable[..., Page]) -> None:
    hasty = make_hasty(artist)
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("schedules:schedule_detail", args=[hasty.schedule_id]))
    page.get_by_role("link", name="Make this change (anneal soak").click()
    page.get_by_role("button", name="Save the next revision").last.click()
    expect(page.get_by_text("Segment 4, anneal soak 20 min → 1 h 00").first).to_be_visible()
    newest = hasty.schedule.revisions.latest()
    assert [row.hold_minutes for row in newest.segments.all()] == [0, 30, 10, 60, 0]


def test_remark_is_silenced_and_heard_again(artist: Person, open_page: Callable[..., Page]) -> None:
    hasty = make_hasty(artist)
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("schedules:schedule_detail", args=[hasty.schedule_id]))
    page.get_by_role("link", name="Silence it (The anneal soak").click()
    page.get_by_label("Why it is silenced").fill("Tiles.")
    page.get_by_role("button", name="Silence it", exact=True).click()
    page.get_by_text("1 silenced").click()
    expect(page.get_by_text("Silenced by Inka")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("button", name="Hear it again").click()
    expect(page.get_by_text("The remark is heard again.")).to_be_visible()
    expect(page.get_by_text("1 silenced")).to_have_count(0)


def test_planned_firing_takes_the_change(artist: Person, open_page: Callable[..., Page]) -> None:
    hasty = make_hasty(artist)
    firing = make_firing(artist, revision=hasty, kiln=hasty.written_for)
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("firings:load_edit", args=[firing.pk]))
    assert violations(page) == []
    page.get_by_role("button", name="Make this change (anneal soak").click()
    expect(page.get_by_text("Revision 2 is on record, and this firing goes by it.")).to_be_visible()
    expect(page.get_by_role("link", name="rev. 2")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
