"""What the firing page tells of a recording: the table, the ranges, files, readings by hand."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from firings.actions.recording_files import recording_files_add
from firings.models import Firing, RecordingFile, SpotReading
from studio.models import Person
from tests.factories import make_firing, make_person
from tests.firings.logger_files import logger_file, recorded

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def fired(person: Person, **overrides: Any) -> Firing:
    told = {"state": "opened", "started_at": START, "opened_at": START + timedelta(hours=30)}
    return make_firing(person, **told | overrides)


def page_of(client: Client, firing: Firing) -> str:
    response = client.get(reverse("firings:firing_detail", args=[firing.pk]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


@pytest.fixture
def browser(artist: Person, signed_in: Any) -> Client:
    return signed_in(artist)


def test_page_tells_each_segment(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)

    page = page_of(browser, firing)

    assert 'class="recorded"' in page
    assert "3. 330 °C/h to 804 °C, 10 min" in page
    assert "Tue 18:00" in page
    assert "on time" in page
    assert "Annealing <span" in page
    assert "readings over" in page
    assert reverse("firings:recording_csv", args=[firing.pk]) in page


def test_what_is_more_than_usual_is_marked_and_said(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, hotter_c=8.0)

    page = page_of(browser, firing)

    assert "▲ 8 °C" in page
    assert "off by more than Heron differs from firing to firing, 1.5 °C" in page
    assert "The kiln missed the plan" in page


def test_page_is_in_the_readers_unit(artist: Person, signed_in: Any) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)

    page = page_of(signed_in(make_person("wilf", unit="F")), firing)

    assert "3. 594 °F/h to 1479 °F, 10 min" in page


def test_what_was_not_recorded_is_said(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, until_s=5.2 * 3600.0)

    page = page_of(browser, firing)

    assert "Segment 5 was not come to, or not recorded any more." in page
    assert "not found" in page


def test_readings_by_hand_are_dots_and_tell_no_segment(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    for hours, temperature_c in [(1, 170.0), (3, 470.0), (5, 790.0)]:
        SpotReading.objects.create(
            firing=firing,
            at=START + timedelta(hours=hours),
            temperature_c=temperature_c,
            note="edges soft" if hours == 5 else "",
            noted_by=artist,
        )

    page = page_of(browser, firing)

    assert page.count('class="reading"') == 6  # three, drawn for a desk and for a phone
    assert 'class="recorded"' not in page
    assert "Segment by segment" not in page
    assert "Dots are readings noted by hand." in page
    assert "Tue 23:00 · 790 °C" in page
    assert "edges soft" in page


def test_a_file_that_waits_and_one_of_another_day_are_said(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, clock=START - timedelta(days=365))
    waiting = logger_file(firing, "second.csv", every_s=30.0)
    recording_files_add(firing=firing, by=artist, files=[waiting])

    page = page_of(browser, firing)

    assert "By its own clock the recording begins Mon 3 Mar 2025, 18:00" in page
    assert "not taken yet" in page
    assert "Look and take" in page


def test_who_may_not_change_it_sees_no_buttons(
    artist: Person, student: Person, signed_in: Any
) -> None:
    firing = fired(artist)
    file = recorded(firing, by=artist)

    page = page_of(signed_in(student), firing)

    assert reverse("firings:recording_original", args=[file.pk]) in page
    assert f'href="{reverse("firings:recording_import", args=[file.pk])}"' not in page
    assert reverse("firings:recording_add", args=[firing.pk]) not in page


def test_a_firing_that_was_not_started_has_no_recording(artist: Person, browser: Client) -> None:
    assert "Recording</h2>" not in page_of(browser, make_firing(artist))


def test_chart_data_gives_a_stretch_in_detail(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, every_s=5.0)
    address = reverse("firings:firing_chart_data", args=[firing.pk])

    whole = browser.get(address).json()
    close = browser.get(address, {"from": "7200", "to": "9000"}).json()

    line = next(trace for trace in whole["data"] if trace["meta"] == "recorded")
    assert len(line["x"]) <= 2002
    assert "2026-03-03 20:00:05" in close["x"]
    for wrong in ({"from": "x", "to": "1"}, {"from": "nan", "to": "inf"}, {"from": "1"}):
        assert "data" in browser.get(address, wrong).json()


def test_query_count_stays(
    artist: Person,
    browser: Client,
    django_assert_num_queries: Any,
    django_assert_max_num_queries: Any,
) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)
    address = reverse("firings:firing_detail", args=[firing.pk])

    def add(number: int) -> None:
        person = make_person(f"person{number}")
        SpotReading.objects.create(
            firing=firing,
            at=START + timedelta(minutes=number),
            temperature_c=100.0,
            noted_by=person,
        )
        RecordingFile.objects.create(
            firing=firing, name="x.csv", digest=str(number), size=1, added_by=person
        )

    add(0)
    browser.get(address)
    with django_assert_max_num_queries(40) as first:
        browser.get(address)
    for number in range(1, 5):
        add(number)
    with django_assert_num_queries(len(first.captured_queries)):
        browser.get(address)
