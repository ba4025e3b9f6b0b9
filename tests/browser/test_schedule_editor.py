"""A schedule written in the browser: the rows, the curve beside them, and the closer look."""

from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from schedules.models import Schedule
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_family, make_kiln, make_revision, make_schedule


def begin(page: Page) -> None:
    page.goto(reverse("schedules:schedule_add"))
    page.get_by_label("Name").fill("Tide fuse")
    page.get_by_label("Process").select_option("full_fuse")
    page.get_by_label("Glass family").select_option(label="soft 90")
    page.get_by_label("Thinnest, mm").fill("6")
    page.get_by_label("Thickest, mm").fill("6")
    page.get_by_label("Written for").select_option(label="Heron")


def fill_row(page: Page, number: int, rate: str, target: str, hold: str) -> None:
    row = page.get_by_role("group", name=f"Segment {number}", exact=True)
    row.get_by_label("Rate").fill(rate)
    row.get_by_label("Target").fill(target)
    row.get_by_label("Hold").fill(hold)


def targets(page: Page) -> list[str]:
    rows = page.locator(".segments > li").count()
    return [page.locator(f"#id_segments-{row}-target").input_value() for row in range(rows)]


def test_rows_and_curve_follow_what_is_typed(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    make_family()
    make_kiln("Heron")
    page = open_page(artist, viewport=PHONE)
    begin(page)
    preview = page.locator("#preview")
    expect(preview).to_contain_text("as soon as a segment has a target")

    fill_row(page, 1, "150", "540", "")
    fill_row(page, 2, "33x", "804", "10")
    expect(preview).to_contain_text("Segment 2 is left out.")
    expect(preview.locator(".curve.phone path.planned")).to_be_visible()
    fill_row(page, 2, "330", "804", "10")
    expect(preview).not_to_contain_text("left out")
    expect(preview).to_contain_text("804 °C")

    page.get_by_role("button", name="Add a segment after segment 1").click()
    expect(page.locator("#id_segments-1-rate")).to_be_focused()
    page.keyboard.type("300")
    fill_row(page, 2, "300", "677", "30")
    page.get_by_role("button", name="Move segment 3 up").click()
    expect(page.get_by_role("button", name="Move segment 2 up")).to_be_focused()
    assert targets(page) == ["540", "804", "677", "", ""]
    page.get_by_role("button", name="Remove segment 3").click()
    expect(page.locator(".segments > li")).to_have_count(4)
    page.locator("#id_segments-1-hold").press("Enter")

    expect(page.get_by_role("heading", level=1)).to_have_text("Tide fuse")
    rows = Schedule.objects.get().revisions.get().segments.all()
    assert [int(row.target) for row in rows] == [540, 804]


def test_the_same_buttons_work_without_script(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    make_family()
    make_kiln("Heron")
    page = open_page(artist, scripts=False)
    begin(page)
    fill_row(page, 1, "150", "540", "")
    fill_row(page, 2, "330", "804", "10")
    page.get_by_role("button", name="Move segment 2 up").click()
    assert targets(page)[:2] == ["804", "540"]
    expect(page.get_by_label("Name")).to_have_value("Tide fuse")
    expect(page.locator("#preview .curve.phone path.planned")).to_be_visible()
    page.get_by_role("button", name="Save as revision 1").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Tide fuse")
    expect(page.get_by_role("button", name="Look closer")).to_have_count(0)


def test_plotly_comes_when_it_is_asked_for(artist: Person, open_page: Callable[..., Page]) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule, written_for=make_kiln("Heron"))
    page = open_page(artist)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(reverse("schedules:schedule_detail", args=[schedule.pk]))
    expect(page.locator("#curve .curve.desk path.planned")).to_be_visible()
    assert not any("plotly" in address or "curve.json" in address for address in asked)

    page.get_by_role("button", name="Look closer").click()
    chart = page.locator(".chart")
    expect(chart.locator(".scatterlayer path").first).to_be_visible()
    expect(page.locator("#curve .drawing")).to_be_hidden()
    chart.hover(position={"x": 250, "y": 180})
    expect(chart.locator(".hoverlayer")).to_contain_text("°C")

    page.get_by_role("button", name="Back to the drawing").click()
    expect(chart).to_have_count(0)
    expect(page.locator("#curve .curve.desk path.planned")).to_be_visible()
