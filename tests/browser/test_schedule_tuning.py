"""What all firings of a schedule say, on a phone: a change tried out, two firings laid beside."""

from collections.abc import Callable
from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import Page, expect

from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing, make_kiln, make_revision, make_schedule


def fired_twice(artist: Person) -> str:
    kiln, revision = make_kiln(), make_revision(make_schedule(artist))
    for days in (9, 4):
        firing = make_firing(
            artist,
            kiln=kiln,
            revision=revision,
            state="opened",
            title=f"Tile of {days} days ago",
            started_at=timezone.now() - timedelta(days=days),
            recorded_peak_c=804.0,
            recorded_hold_s=600,
        )
        load_piece(firing, verdict=-1, judged_by=artist)
    return f"/schedules/{revision.schedule_id}/tuning/"


def test_a_change_is_tried_and_two_firings_are_laid_beside(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    page = open_page(artist, viewport=PHONE)
    page.goto(fired_twice(artist))
    expect(page.locator("svg.phone .reading")).to_be_visible()

    page.get_by_label("Change of the peak").select_option(label="+4 °C")
    expect(page.locator("#what-if")).to_contain_text("808 °C, held 10 min.")
    page.get_by_role("link", name="hotter").click()
    expect(page.locator("#what-if")).to_contain_text("809 °C, held 10 min.")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]

    for box in page.get_by_role("checkbox").all():
        box.check()
    page.get_by_role("button", name="Lay them side by side").click()
    expect(page.get_by_role("link", name="Tile of 9 days ago").first).to_be_visible()


def test_a_change_is_tried_without_script(artist: Person, open_page: Callable[..., Page]) -> None:
    page = open_page(artist, viewport=PHONE, scripts=False)
    page.goto(fired_twice(artist))

    page.get_by_label("Change of the hold").select_option(label="+5 min")
    page.get_by_label("Change of the peak").select_option(label="none")
    page.get_by_role("button", name="See").click()

    expect(page.locator("#what-if")).to_contain_text("804 °C, held 15 min.")
