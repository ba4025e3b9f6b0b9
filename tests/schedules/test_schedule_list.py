from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from studio.models import Person
from tests.factories import make_family, make_kiln, make_person, make_revision, make_schedule

URL = reverse("schedules:schedule_list")
SignIn = Callable[[Person], Client]


def names(client: Client, **asked: str) -> list[str]:
    response = client.get(URL, asked)
    assert response.status_code == 200
    return [line.schedule.name for line in response.context["lines"]]


def test_list_shows_newest_revision_and_time_in_its_kiln(artist: Person, signed_in: SignIn) -> None:
    schedule = make_schedule(artist, thinnest_mm=6, thickest_mm=9)
    make_revision(schedule)
    # 480 °C at 240 °C/h from a room of 20 °C: 1 h 55; then an hour's hold.
    make_revision(schedule, [("240", "480", 60)], written_for=make_kiln("Heron"))

    response = signed_in(artist).get(URL)
    [line] = response.context["lines"]

    assert line.newest.number == 2
    assert line.total_s == pytest.approx((1 + 55 / 60 + 1) * 3600)
    text = response.content.decode()
    assert "full fuse" in text
    assert "6–9 mm" in text
    assert "2 h 55" in text
    assert "Heron" in text


def test_schedule_written_for_no_kiln_has_no_time(artist: Person, signed_in: SignIn) -> None:
    make_revision(make_schedule(artist))
    [line] = signed_in(artist).get(URL).context["lines"]
    assert line.total_s is None


def test_filters(artist: Person, signed_in: SignIn) -> None:
    other = make_person("ravi")
    float_glass = make_family("float", expansion=85.0)
    make_schedule(artist, name="Tide fuse")
    make_schedule(other, name="Tide slump", process="slump", note="for the shallow bowl")
    make_schedule(artist, name="Window", family=float_glass)
    make_schedule(artist, name="Old tide", archived_at=timezone.now())
    browser = signed_in(artist)

    assert names(browser) == ["Tide fuse", "Tide slump", "Window"]
    assert names(browser, words="tide bowl") == ["Tide slump"]
    assert names(browser, process="slump") == ["Tide slump"]
    assert names(browser, family=str(float_glass.pk)) == ["Window"]
    assert names(browser, whose="mine") == ["Tide fuse", "Window"]
    assert names(browser, archived="on") == ["Old tide"]


def test_filter_that_means_nothing_is_told_and_not_a_fault(
    artist: Person, signed_in: SignIn
) -> None:
    make_schedule(artist, name="Tide fuse")
    response = signed_in(artist).get(URL, {"process": "melt", "family": "x", "page": "ninety"})
    assert response.status_code == 200
    assert b"Select a valid choice" in response.content


def test_fragment_holds_the_lines_alone(artist: Person, signed_in: SignIn) -> None:
    make_schedule(artist, name="Tide fuse")
    response = signed_in(artist).get(URL, headers={"HX-Request": "true"})
    assert response.content.strip().startswith(b'<section class="card" id="schedule-lines"')
    assert b"<html" not in response.content
    assert "HX-Request" in response.headers["Vary"]


def test_list_is_paged(artist: Person, signed_in: SignIn) -> None:
    for number in range(27):
        make_schedule(artist, name=f"Fuse {number:02d}")
    browser = signed_in(artist)
    assert len(names(browser)) == 25
    assert names(browser, page="2") == ["Fuse 25", "Fuse 26"]


def test_queries_stay_the_same_with_more_schedules(artist: Person, signed_in: SignIn) -> None:
    browser, kiln = signed_in(artist), make_kiln()

    def add(count: int) -> None:
        for number in range(count):
            schedule = make_schedule(artist, name=f"Fuse {number}")
            make_revision(schedule, written_for=kiln)
            make_revision(schedule, written_for=kiln)

    add(1)
    browser.get(URL)
    with CaptureQueriesContext(
        connection,
    ) as few:
        browser.get(URL)
    add(15)
    with CaptureQueriesContext(connection) as many:
        browser.get(URL)
    assert len(many) == len(few)


def test_empty_studio_is_told_how_to_begin(artist: Person, signed_in: SignIn) -> None:
    assert "No schedule is on record yet" in signed_in(artist).get(URL).content.decode()


def test_outsider_is_led_to_sign_in(outsider: Client, db: None) -> None:
    response = outsider.get(URL)
    assert response.status_code == 302
    assert response.headers["Location"].startswith(reverse("studio:sign_in"))


def test_list_is_only_read(artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).post(URL).status_code == 405
