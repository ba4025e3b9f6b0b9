"""Ticking firings in the logbook on a phone, and reading them side by side."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import Page, expect

from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing, make_revision, make_schedule
from tests.firings.logger_files import recorded

START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)


@pytest.mark.parametrize("scripts", [True, False])
def test_ticked_in_the_logbook_and_laid_side_by_side(
    artist: Person, open_page: Callable[..., Page], scripts: bool
) -> None:
    revision = make_revision(make_schedule(artist))
    for day, title in enumerate(("Tide blank", "Ebb panel", "Harbour tile")):
        start = START + timedelta(days=day)
        firing = make_firing(
            artist,
            revision=revision,
            state="opened",
            title=title,
            started_at=start,
            opened_at=start + timedelta(hours=24),
            recorded_peak_c=804.0 + 4 * day,
        )
        load_piece(firing, verdict=day - 1, judged_by=artist)
    recorded(firing, by=artist, hotter_c=8.0)
    page = open_page(artist, viewport=PHONE, scripts=scripts)
    page.goto("/logbook/")

    page.get_by_role("row", name="Tide blank").get_by_role("checkbox").check()
    act = page.get_by_role("button", name="Lay side by side")
    expect(act).to_be_in_viewport()  # a line that is ticked keeps its act in sight
    act.click()
    expect(page.get_by_role("alert")).to_contain_text("One firing has nothing beside it")
    expect(page.get_by_label("Tide blank")).to_be_checked()

    page.get_by_label("Harbour tile").check()
    page.get_by_role("button", name="Lay side by side").click()

    table = page.get_by_role("region", name="Figures, a column a firing")
    expect(table.get_by_role("row", name="Recorded peak")).to_contain_text("812 °C")
    expect(page.locator("svg.phone path.recorded").first).to_be_visible()
    expect(page.locator("svg.phone path.planned").first).to_be_visible()
    expect(page.locator("svg.desk").first).to_be_hidden()
    page.get_by_role("link", name="From the start").click()
    expect(page.get_by_role("link", name="From the start")).to_have_attribute(
        "aria-current", "true"
    )
    if scripts:  # a page without scripts can't be asked
        assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
