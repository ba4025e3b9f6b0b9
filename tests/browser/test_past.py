"""A studio's past on a phone: firings out of a sheet, and a schedule off an old card."""

from collections.abc import Callable
from pathlib import Path

from django.urls import reverse
from playwright.sync_api import Page, expect

from firings.models import Firing
from schedules.models import Schedule
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_family, make_kiln, make_revision, make_schedule
from tests.firings.pictures import picture_file

SHEET = (
    "Day,Kiln,Schedule,Piece,Peak,Verdict\r\n"
    "2024-03-05,Heron,Full fuse,Ebb panel,1480,as wanted\r\n"
    "2024-03-09,Heron,Full fuse,Weir tile,1475,a touch short\r\n"
    "2024-03-12,Heronn,Full fuse,Fern tile,1478,as wanted\r\n"
)

CARD = (("300", "1000", "0"), ("600", "1480", "10"), ("", "900", "60"))


def test_firings_out_of_a_sheet(
    keeper: Person, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    make_kiln("Heron")
    make_revision(make_schedule(keeper, name="Full fuse"))
    file = tmp_path / "kiln book.csv"
    file.write_text(SHEET)
    page = open_page(keeper, viewport=PHONE)
    page.goto("/logbook/")
    page.get_by_role("link", name="Bring in a file").click()
    page.get_by_label("The file").set_input_files(file)
    page.get_by_role("button", name="Read it").click()
    # The unit stands nowhere in it: it is asked, and not taken for one or the other.
    page.get_by_role("button", name="Show what becomes of each row").click()
    assert not Firing.objects.exists()
    asked = page.get_by_label("Temperatures that name no unit are in")
    asked.select_option(label="°F")
    page.get_by_role("button", name="Show what becomes of each row").click()
    expect(page.get_by_text("“Heronn”").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("button", name="Bring in 2 rows").click()
    expect(page.get_by_text("Brought in on")).to_be_visible(timeout=30_000)

    firings = Firing.objects.order_by("started_at")
    assert [round(each.recorded_peak_c or 0) for each in firings] == [804, 802]
    page.goto(reverse("firings:firing_detail", args=[firings[0].pk]))
    expect(page.get_by_text("Brought in").first).to_be_visible()
    expect(page.get_by_role("heading", name="Energy, computed")).to_have_count(0)


def test_a_schedule_off_an_old_card(
    artist: Person, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    make_family()
    make_kiln("Heron")
    photograph = tmp_path / "card.jpg"
    photograph.write_bytes(picture_file().read())
    page = open_page(artist, viewport=PHONE)
    page.goto("/schedules/")
    page.get_by_role("link", name="An old card").click()
    expect(page.get_by_text("Fire a test tile by it first").first).to_be_visible()
    page.get_by_label("Name").fill("Gull plate, from the drawer")
    page.get_by_label("Process").select_option("full_fuse")
    page.get_by_label("Thinnest, mm").fill("6")
    page.get_by_label("Thickest, mm").fill("6")
    for number, (rate, target, hold) in enumerate(CARD, start=1):
        row = page.get_by_role("group", name=f"Segment {number}", exact=True)
        row.get_by_label("Rate").fill(rate)
        row.get_by_label("Target").fill(target)
        row.get_by_label("Hold").fill(hold)
    assert page.locator("#id_unit").input_value() == ""
    assert page.get_by_label("Glass family").input_value() == ""
    page.locator("#id_unit").select_option("F")
    page.get_by_label("Glass family").select_option(label="soft 90")
    page.get_by_label("Photograph of the card").set_input_files(photograph)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("button", name="Keep it as revision 1").click()
    expect(page.get_by_text("unproven here").first).to_be_visible()
    schedule = Schedule.objects.get()
    assert schedule.revisions.get().unit == "F"
    assert schedule.card.added_by == artist
