from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from firings.actions.unknown_firings import unknown_firing_dismiss
from firings.models import Firing, UnknownFiring
from firings.queries.booking import taken_spans
from studio.models import Kiln, Person
from tests.factories import make_glass, make_kiln, make_revision, make_schedule

NOW = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _at_nine() -> None:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def unknown(kiln: Kiln, student: Person) -> UnknownFiring:
    return UnknownFiring.objects.create(
        kiln=kiln, seen_at=NOW - timedelta(hours=1), seen_c=612.0, noted_by=student, note="no slip"
    )


@pytest.fixture
def artist_client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


def page_of(unknown: UnknownFiring) -> str:
    return reverse("firings:unknown_firing", args=[unknown.pk])


def test_it_becomes_the_firing_that_it_was(
    unknown: UnknownFiring, artist: Person, artist_client: Client, student: Person
) -> None:
    revision = make_revision(make_schedule(artist))
    facts = {
        "revision": revision.pk,
        "started_at": "2026-03-12T05:30",
        "title": "Ebb panel",
        "fired_by": artist.pk,
    }

    answer = artist_client.post(page_of(unknown), facts)

    firing = Firing.objects.get()
    assert answer.headers["Location"] == reverse("firings:firing_now", args=[firing.pk])
    assert (firing.state, firing.kiln, firing.title) == ("firing", unknown.kiln, "Ebb panel")
    reading = firing.spot_readings.get()
    assert (reading.temperature_c, reading.note) == (612.0, "no slip")
    assert reading.noted_by == student
    unknown.refresh_from_db()
    assert (unknown.became, unknown.closed_by) == (firing, artist)


def test_it_ran_before_it_was_seen(
    unknown: UnknownFiring, artist: Person, artist_client: Client
) -> None:
    facts = {
        "revision": make_revision(make_schedule(artist)).pk,
        "started_at": "2026-03-12T08:30",
        "title": "Ebb panel",
        "fired_by": artist.pk,
    }

    page = artist_client.post(page_of(unknown), facts).content.decode()

    assert "It was seen running before that" in page
    assert "Ebb panel" in page
    assert not Firing.objects.exists()


def test_it_is_closed_with_a_reason(unknown: UnknownFiring, artist_client: Client) -> None:
    address = reverse("firings:unknown_firing_close", args=[unknown.pk])

    refused = artist_client.post(address, {"reason": ""}).content.decode()
    artist_client.post(address, {"reason": "switched off and empty"})

    assert "This field is required." in refused
    unknown.refresh_from_db()
    assert unknown.reason == "switched off and empty"
    assert unknown.closed_at == NOW
    assert "found running" not in artist_client.get("/").content.decode()


def test_who_comes_second_is_told(
    unknown: UnknownFiring, artist: Person, artist_client: Client
) -> None:
    unknown_firing_dismiss(unknown=unknown, by=artist, reason="empty")
    address = reverse("firings:unknown_firing_close", args=[unknown.pk])

    page = artist_client.post(address, {"reason": "mine"}, follow=True).content.decode()

    assert "Somebody said already what it was." in page
    unknown.refresh_from_db()
    assert unknown.reason == "empty"


def test_it_takes_the_kiln_for_a_day_and_as_long_as_nobody_closes_it(
    unknown: UnknownFiring, kiln: Kiln, artist: Person
) -> None:
    (span,) = taken_spans(kiln, NOW)
    assert (span.starts, span.ends) == (unknown.seen_at, unknown.seen_at + timedelta(hours=24))

    late = NOW + timedelta(days=3)
    (span,) = taken_spans(kiln, late)
    assert span.ends == late

    unknown_firing_dismiss(unknown=unknown, by=artist, reason="empty")
    assert taken_spans(kiln, NOW) == []


def test_a_plan_at_that_time_is_refused(
    unknown: UnknownFiring, kiln: Kiln, artist: Person, artist_client: Client
) -> None:
    facts = {
        "kiln": kiln.pk,
        "revision": make_revision(make_schedule(artist)).pk,
        "planned_start": "2026-03-12T12:00",
        "fired_by": artist.pk,
    }

    page = artist_client.post(reverse("firings:firing_plan"), facts).content.decode()

    assert "a firing that nobody wrote down" in page
    assert not Firing.objects.exists()


def test_what_is_over_is_written_down_afterwards_with_its_reading(
    unknown: UnknownFiring, kiln: Kiln, artist: Person, artist_client: Client
) -> None:
    address = f"{reverse('firings:firing_afterwards')}?kiln={kiln.pk}&unknown={unknown.pk}"
    facts = {
        "revision": make_revision(make_schedule(artist)).pk,
        "fired_by": artist.pk,
        "started_at": "2026-03-12T06:00",
        "opened_at": "2026-03-12T08:30",
        "title": "Ebb panel",
        "glass": make_glass().pk,
        "layers": "2",
        "verdict": "",
    }

    form = artist_client.get(address).content.decode()
    artist_client.post(address, facts)

    assert "2026-03-12T08:00" in form
    assert f"unknown={unknown.pk}" in form
    firing = Firing.objects.get()
    assert firing.spot_readings.get().temperature_c == 612.0
    unknown.refresh_from_db()
    assert unknown.became == firing
