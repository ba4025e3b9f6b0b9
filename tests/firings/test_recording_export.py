"""Downloads: the readings as CSV, their comparison with the plan as CSV and JSON."""

import csv
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.http import HttpResponseBase
from django.test import Client
from django.urls import reverse

from firings.actions.spot_readings import spot_reading_add
from firings.core_inputs import recording_of
from firings.models import Firing
from studio.models import Person, Studio
from tests.factories import make_firing, make_person
from tests.firings.logger_files import recorded

SignedIn = Callable[[Person], Client]
START = datetime(2026, 7, 3, 18, 0, tzinfo=UTC)


@pytest.fixture
def firing(artist: Person) -> Firing:
    studio = Studio.current()
    studio.time_zone = "Europe/Lisbon"
    studio.save()
    firing = make_firing(
        artist, state="opened", started_at=START, opened_at=START + timedelta(hours=30)
    )
    recorded(firing, by=artist, hotter_c=2.0)
    return Firing.objects.get(pk=firing.pk)


def rows_of(answer: HttpResponseBase) -> list[dict[str, str]]:
    assert answer.status_code == 200
    content = answer.getvalue().decode("utf-8-sig")  # type: ignore[attr-defined]
    assert "\u00a0" not in content
    return list(csv.DictReader(content.splitlines()))


def download(browser: Client, name: str, firing: Firing) -> Any:
    return browser.get(reverse(f"firings:{name}", args=[firing.pk]))


def test_readings_are_in_the_readers_unit_and_the_studios_zone(
    firing: Firing, signed_in: SignedIn
) -> None:
    rows = rows_of(download(signed_in(make_person("wilf", unit="F")), "recording_csv", firing))
    recording = recording_of(firing)
    assert list(rows[0]) == ["time", "elapsed (s)", "temperature (°F)"]
    assert len(rows) == recording.times.size
    assert rows[0]["time"] == "2026-07-03T19:00:00+01:00"
    assert [float(row["elapsed (s)"]) for row in rows] == recording.times.tolist()
    highest = max(float(row["temperature (°F)"]) for row in rows)
    assert highest == pytest.approx(806 * 1.8 + 32, abs=0.2)


def test_readings_by_hand_can_be_saved_and_nothing_cannot(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="firing", started_at=START)
    assert download(signed_in(artist), "recording_csv", firing).status_code == 404
    spot_reading_add(firing=firing, by=artist, at=START, temperature_c=20.0)
    [row] = rows_of(download(signed_in(artist), "recording_csv", firing))
    assert row["temperature (°C)"] == "20.00"


def test_comparison_has_a_line_a_segment(
    artist: Person, firing: Firing, signed_in: SignedIn
) -> None:
    rows = rows_of(download(signed_in(artist), "comparison_csv", firing))
    assert [row["segment"] for row in rows] == ["1", "2", "3", "4", "5"]
    assert rows[3]["planned rate (°C/h)"] == "full power"
    assert float(rows[0]["rate achieved (°C/h)"]) == pytest.approx(150.0, abs=3.0)
    assert rows[0]["begun"].startswith("2026-07-03T19:0")
    assert float(rows[2]["held (min)"]) == pytest.approx(10.0, abs=1.5)
    assert float(rows[2]["past target (°C)"]) == pytest.approx(2.0, abs=1.0)


def test_comparison_for_other_programs_is_in_celsius_and_seconds(
    firing: Firing, signed_in: SignedIn
) -> None:
    answer = download(signed_in(make_person("wilf", unit="F")), "comparison_json", firing)
    assert "\u00a0" not in answer.text
    data = json.loads(answer.content)
    assert data["units"] == {"temperature": "°C", "rate": "°C/h", "time": "s"}
    assert data["peak_difference"] == pytest.approx(2.0, abs=0.7)
    assert data["starts_at"] == "2026-07-03T19:00:00+01:00"
    assert [each["index"] for each in data["segments"]] == [0, 1, 2, 3, 4]
    assert data["segments"][0]["planned"]["target"] == 540.0
    assert {band["name"] for band in data["bands"]} == {"process", "devitrification", "annealing"}


@pytest.mark.parametrize("name", ["recording_csv", "comparison_csv", "comparison_json"])
def test_downloads_are_saved_and_closed_to_outsiders(
    artist: Person, firing: Firing, signed_in: SignedIn, outsider: Client, name: str
) -> None:
    answer = download(signed_in(artist), name, firing)
    ending = name.split("_")[1]
    subject = name.split("_")[0]
    assert answer["Content-Disposition"] == (
        f'attachment; filename="firing-{firing.pk}-{subject}.{ending}"'
    )
    assert answer["X-Content-Type-Options"] == "nosniff"
    address = reverse(f"firings:{name}", args=[firing.pk])
    assert signed_in(artist).post(address).status_code == 405
    assert outsider.get(address).url.startswith(reverse("studio:sign_in"))
    assert signed_in(artist).get(reverse(f"firings:{name}", args=[999])).status_code == 404
