"""A logger’s file from the phone to the solid curve, and a closer look at it."""

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from playwright.sync_api import Page, expect

from firings.models import Firing, RecordingSeries
from studio.models import Person
from tests.browser.conftest import DESK, PHONE
from tests.factories import make_firing
from tests.firings.logger_files import logger_file, recorded

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def fired(person: Person) -> Firing:
    return make_firing(
        person, state="opened", started_at=START, opened_at=START + timedelta(hours=30)
    )


def test_a_file_is_sent_overruled_and_taken(
    artist: Person, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    firing = fired(artist)
    file = tmp_path / "heron.csv"
    file.write_bytes(logger_file(firing, header="time,chamber").read())
    page = open_page(artist, viewport=PHONE)
    page.goto(f"/firings/{firing.pk}/")
    expect(page.locator("#curve svg.phone path.recorded")).to_have_count(0)

    page.get_by_role("link", name="Add a logger’s file").click()
    page.get_by_label("Files of the data logger").set_input_files(file)
    page.get_by_role("button", name="Send").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("heron.csv")
    expect(page.get_by_text("By their range the temperatures are in °C")).to_be_visible()
    page.get_by_label("The temperatures are in").select_option(label="°F")
    expect(page.locator("dl.facts", has_text="Highest")).to_contain_text("429 °C")
    page.get_by_label("The temperatures are in").select_option(label="°C")
    expect(page.locator("dl.facts", has_text="Highest")).to_contain_text("804 °C")
    page.get_by_text("Anything else").click()
    page.get_by_label("Columns are parted by").select_option(label="a tab")
    expect(page.get_by_role("heading", name="It can’t be read as it is")).to_be_visible()
    expect(page.get_by_label("Columns are parted by")).to_be_visible()  # among what was chosen
    page.get_by_label("Columns are parted by").select_option(label="a comma")
    expect(page.locator("dl.facts", has_text="Highest")).to_contain_text("804 °C")
    assert not RecordingSeries.objects.exists()
    page.get_by_role("button", name="Take it").click()

    expect(page.locator("#curve svg.phone path.recorded")).to_be_visible()
    expect(page.get_by_role("heading", name="Segment by segment")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


def test_without_scripts_it_goes_the_same_way(
    artist: Person, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    firing = fired(artist)
    file = tmp_path / "heron.csv"
    file.write_bytes(logger_file(firing, header="time,chamber").read())
    page = open_page(artist, viewport=PHONE, scripts=False)
    page.goto(f"/firings/{firing.pk}/recordings/add/")
    page.get_by_label("Files of the data logger").set_input_files(file)
    page.get_by_role("button", name="Send").click()
    page.get_by_label("The temperatures are in").select_option(label="°F")
    page.get_by_role("button", name="Read it so").click()
    expect(page.locator("dl.facts", has_text="Highest")).to_contain_text("429 °C")
    page.get_by_role("button", name="Take it").click()
    expect(page.locator("#curve svg.phone path.recorded")).to_be_visible()


def test_a_large_file_shows_how_much_was_sent(
    artist: Person, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    firing = fired(artist)
    file = tmp_path / "heron.csv"
    file.write_bytes(logger_file(firing, every_s=1.0).read())
    page = open_page(artist, viewport=PHONE)
    page.add_init_script(  # after the page's own script has heard of it
        """document.addEventListener('htmx:xhr:progress', () => setTimeout(() => {
          const bar = document.querySelector('progress');
          if (bar && !bar.hidden) sessionStorage.setItem('sent', bar.value);
        }));"""
    )
    page.goto(f"/firings/{firing.pk}/recordings/add/")
    expect(page.locator("progress")).to_be_hidden()
    page.get_by_label("Files of the data logger").set_input_files(file)
    page.get_by_role("button", name="Send").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("heron.csv")
    assert float(page.evaluate("sessionStorage.getItem('sent')")) == 1.0


def test_zooming_in_fetches_what_thinning_left_out(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, every_s=5.0)
    page = open_page(artist, viewport=DESK)
    page.goto(f"/firings/{firing.pk}/")
    page.get_by_role("button", name="Look closer").click()
    chart = page.locator("#curve .chart")
    expect(chart.locator(".scatterlayer .trace").first).to_be_visible()
    plot = chart.locator(".nsewdrag").first.bounding_box()
    assert plot is not None
    left, top = plot["x"] + plot["width"] * 0.3, plot["y"] + plot["height"] / 2
    with page.expect_response(re.compile(r"curve\.json\?from=\d+&to=\d+$")) as asked:
        page.mouse.move(left, top)
        page.mouse.down()
        page.mouse.move(left + 60, top, steps=5)
        page.mouse.up()
    since, until = map(int, re.findall(r"\d+", asked.value.url.partition("?")[2]))
    assert 0 < since < until < 86_400
    close = asked.value.json()
    five = since // 5 * 5 + 60  # readings were taken each 5 s
    at = [f"{START + timedelta(seconds=five + more):%Y-%m-%d %H:%M:%S}" for more in range(0, 30, 5)]
    assert set(at) <= set(close["x"])
    count = chart.evaluate(
        "async (place) => { await new Promise((done) => setTimeout(done, 300)); "
        "return place.data.find((trace) => trace.meta === 'recorded').x.length; }"
    )
    assert count == len(close["x"])
    page.mouse.dblclick(left, top)
    expect(chart).to_be_visible()
