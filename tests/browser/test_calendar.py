"""A kiln that is taken: told at once, and the next free time taken with one tap, on a phone."""

from collections.abc import Callable
from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import Page, expect

from firings.models import Firing
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_firing, make_kiln, make_revision, make_schedule


def test_the_next_free_time_is_one_tap_away(
    artist: Person, student: Person, open_page: Callable[..., Page]
) -> None:
    kiln = make_kiln()
    revision = make_revision(make_schedule(artist))
    start = (timezone.now() + timedelta(days=2)).replace(second=0, microsecond=0)
    other = make_firing(
        student, kiln=kiln, revision=revision, title="Shoal tile", planned_start=start
    )
    page = open_page(artist, viewport=PHONE)
    page.goto("/firings/plan/")
    page.get_by_label("Title").fill("Tide bowl")
    page.get_by_label("Kiln").select_option("Heron")
    page.get_by_label("Schedule").select_option(label=f"{revision.schedule.name}, rev. 1")
    page.get_by_label("Planned start").fill(f"{start + timedelta(hours=3):%Y-%m-%dT%H:%M}")
    page.get_by_label("Planned start").blur()
    outlook = page.locator("#outlook")
    expect(outlook).to_contain_text("Heron is taken until")
    expect(outlook).to_contain_text("Shoal tile")
    outlook.get_by_role("button", name="Plan it for").click()

    expect(page.get_by_role("heading", name="Tide bowl")).to_be_visible()
    assert Firing.objects.get(title="Tide bowl").planned_start == other.booking.ends_at
    page.get_by_role("link", name="Today", exact=True).click()
    page.get_by_role("link", name="Who has which kiln this week").click()
    page.goto(f"/calendar/?day={start:%Y-%m-%d}")
    expect(page.get_by_role("link", name="Shoal tile").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
