"""A test series on a phone: the ladder made, its firings planned, its tiles judged in a row without
network, and the advice that rests on it."""

import re
from collections.abc import Callable
from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import Page, expect

from firings.models import Firing, LoadedPiece, Rung
from schedules.models import Schedule
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_kiln, make_place, make_revision, make_schedule

SENT = re.compile(r"sent \d")


def open_all(by: Person) -> None:
    """The kiln was opened each day; its display showed what was keyed."""
    for days, rung in enumerate(Rung.objects.select_related("loaded__firing").order_by("-number")):
        assert rung.loaded is not None
        firing: Firing = rung.loaded.firing
        firing.state = "opened"
        firing.started_at = timezone.now() - timedelta(days=days + 1)
        firing.opened_at = firing.started_at + timedelta(hours=18)
        firing.opened_by = by
        firing.recorded_peak_c, firing.recorded_hold_s = float(rung.value), 600
        firing.save()


def schedule_of(artist: Person) -> Schedule:
    kiln, schedule = make_kiln(), make_schedule(artist)
    make_place(kiln, is_reference=True)
    make_revision(schedule, written_for=kiln)
    return schedule


def test_from_the_ladder_to_the_advice(artist: Person, open_page: Callable[..., Page]) -> None:
    schedule = schedule_of(artist)
    page = open_page(artist, viewport=PHONE, goes_offline=True)
    page.goto(f"/schedules/{schedule.pk}/")
    page.get_by_role("link", name="Begin a series").click()
    page.get_by_label("Lowest rung, °C").fill("795")
    page.get_by_label("Step, °C").fill("7")
    page.get_by_label("Rungs, 2 to 12").fill("3")
    page.get_by_role("button", name="See it").click()
    expect(page.get_by_role("row", name="809 °C")).to_be_visible()
    page.get_by_label("Name").fill("opal tack")
    page.get_by_label("What it is to find").fill("The peak of the new opal")
    page.get_by_role("button", name="Make the ladder").click()
    expect(page.get_by_role("heading", name="opal tack")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]

    page.get_by_role("button", name="Plan all 3").click()
    expect(page.get_by_text("3 firings are planned, each with its tile.")).to_be_visible()
    address = page.url

    open_all(artist)
    page.goto(address)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.context.set_offline(True)
    verdicts = {1: "a touch short", 2: "as wanted", 3: "a touch far"}
    for number, words in verdicts.items():
        form = page.locator("form[data-kept]").nth(number - 1)
        form.get_by_text(words, exact=True).click()
        form.get_by_role("button", name=f"Keep rung {number}").click()
    kept = page.locator("#kept li")
    expect(kept).to_have_count(3)
    expect(kept.first).to_contain_text("opal tack, rung 1: a touch short")
    page.context.set_offline(False)
    expect(kept.nth(2)).to_contain_text(SENT)
    judged = LoadedPiece.objects.order_by("pk").values_list("verdict", flat=True)
    assert list(judged) == [-1, 0, 1]

    page.goto(f"/schedules/{schedule.pk}/tuning/")
    expect(page.get_by_role("link", name="test series of 3")).to_be_visible()


def test_a_refused_tile_comes_back_with_its_ticks(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    schedule = schedule_of(artist)
    page = open_page(artist, viewport=PHONE, goes_offline=True)
    page.goto(f"/schedules/{schedule.pk}/series/add/")
    page.get_by_label("Rungs, 2 to 12").fill("2")
    page.get_by_label("Name").fill("opal tack")
    page.get_by_label("What it is to find").fill("The peak of the new opal")
    page.get_by_role("button", name="Make the ladder").click()
    page.get_by_role("button", name="Plan all 2").click()
    expect(page.get_by_text("2 firings are planned")).to_be_visible()
    open_all(artist)
    page.reload()

    form = page.locator("form[data-kept]").first
    form.get_by_text("well past", exact=True).click()
    form.get_by_label("Thickness after, mm").fill("0.1")
    form.get_by_text("Something went wrong?").first.click()
    form.get_by_label("stuck", exact=True).check()
    form.get_by_role("button", name="Keep rung 1").click()
    expect(form.get_by_role("alert")).to_contain_text("0.5")
    expect(form.get_by_label("well past")).to_be_checked()
    expect(form.get_by_label("stuck", exact=True)).to_be_checked()
    expect(form.get_by_label("Thickness after, mm")).to_have_value("0.1")
    form.get_by_label("Thickness after, mm").fill("5")
    form.get_by_role("button", name="Keep rung 1").click()
    expect(page.locator("#kept li")).to_contain_text(SENT)
    tile = LoadedPiece.objects.order_by("pk").first()
    assert tile is not None
    assert (tile.verdict, tile.thickness_after_mm) == (2, 5.0)
    assert [fault.kind for fault in tile.faults.all()] == ["stuck"]
