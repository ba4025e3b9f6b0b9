"""The whole job in a browser: from signing in to the next revision, on a phone."""

from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from firings.models import Firing
from schedules.models import Schedule
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import PASSWORD, make_family, make_glass, make_kiln, make_place


def test_a_schedule_is_written_fired_judged_and_tuned(
    artist: Person, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    kiln = make_kiln()
    make_place(kiln, is_reference=True)
    make_glass(family=make_family())
    picture = tmp_path / "after.jpg"
    Image.effect_noise((1600, 1200), 40).convert("RGB").save(picture)
    page = open_page(None, viewport=PHONE)

    page.goto("/")
    page.get_by_label("Sign-in name").fill("Inka")  # capitals make no difference
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Today")

    write_schedule(page)
    fire(page)
    open_and_judge(page, picture)
    take_the_note(page)


def write_schedule(page: Page) -> None:
    page.get_by_role("link", name="New schedule").click()
    page.get_by_label("Name", exact=True).fill("Contour, three layers")
    page.get_by_label("Process").select_option("contour_fuse")
    page.get_by_label("Family").select_option(label="soft 90")
    page.get_by_label("Thinnest, mm").fill("6")
    page.get_by_label("Thickest, mm").fill("9")
    page.get_by_label("Written for").select_option(label="Heron")
    segments = [("150", "540", ""), ("300", "775", "10"), ("", "482", "1:00"), ("80", "370", "")]
    for number, (rate, target, hold) in enumerate(segments, start=1):
        row = page.get_by_role("group", name=f"Segment {number}", exact=True)
        if not row.is_visible():
            page.get_by_role("button", name="Add a segment", exact=True).click()
        expect(row).to_be_visible()
        row.get_by_label("Rate").fill(rate)
        row.get_by_label("Target").fill(target)
        row.get_by_label("Hold").fill(hold)
    expect(page.locator("#preview svg.phone path.planned")).to_be_visible()
    page.get_by_role("button", name="Save as revision 1").last.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Contour, three layers")
    revision = Schedule.objects.get().revisions.get()
    assert [s.hold_minutes for s in revision.segments.all()] == [0, 10, 60, 0]
    assert revision.segments.all()[2].rate is None


def fire(page: Page) -> None:
    page.get_by_role("link", name="Plan a firing").click()
    page.get_by_label("Kiln", exact=True).select_option(label="Heron")
    page.get_by_role("button", name="Plan it").click()
    page.get_by_role("link", name="Add a piece").first.click()
    page.get_by_label("Title, if it is new").fill("Reed panel")
    page.get_by_label("Thickest, mm").fill("9")
    page.get_by_role("button", name="Put it in").click()
    page.goto(f"/firings/{Firing.objects.get().pk}/")
    page.get_by_role("link", name="Start it").click()
    page.get_by_label("Started").fill("2026-03-02T18:05")
    page.get_by_role("button", name="It is started").click()


def open_and_judge(page: Page, picture: Path) -> None:
    page.get_by_role("link", name="Note the opening").click()
    page.get_by_label("The display then").fill("41")
    page.get_by_label("Recorded peak").fill("774")
    page.get_by_label("Hold at the top").fill("10")
    page.get_by_label("Duration").fill("9:30")
    page.get_by_label("Photographs").set_input_files(picture)
    page.get_by_text("well short").click()
    page.get_by_role("button", name="It is opened").click()
    expect(page.get_by_text("774 °C").first).to_be_visible()
    expect(page.get_by_text("well short").first).to_be_visible()
    firing = Firing.objects.get()
    assert firing.state == "opened"
    assert firing.photographs.count() == 1
    assert firing.load.get().verdict == -2


def take_the_note(page: Page) -> None:
    expect(page.get_by_role("heading", name="Next time")).to_be_visible()
    page.get_by_role("button", name="Make revision 2").click()
    schedule = Schedule.objects.get()
    newest = schedule.revisions.get(number=2)
    assert "note" in newest.reason
    old, new = (list(r.segments.values_list("target", "hold_minutes")) for r in
                (schedule.revisions.get(number=1), newest))  # fmt: skip
    assert [new[i] == old[i] for i in range(4)] == [True, False, True, True]
    page.goto(f"/schedules/{schedule.pk}/")
    expect(page.get_by_text(newest.reason).first).to_be_visible()
