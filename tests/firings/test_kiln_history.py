from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from firings.models import Firing
from studio.models import Kiln, Person, ServiceEntry
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)


def address_of(kiln: Kiln) -> str:
    return reverse("firings:kiln_history", args=[kiln.pk])


def fired(person: Person, day: int, **overrides: object) -> Firing:
    start = datetime(2026, 3, day, 18, 0, tzinfo=UTC)
    return make_firing(
        person,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=16),
        **overrides,
    )


@pytest.fixture
def artist_client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


def test_history_shows_this_kilns_firings_and_how_they_kept_to_what_was_keyed(
    artist: Person, artist_client: Client
) -> None:
    heron = make_kiln("Heron")
    first = fired(artist, 3, kiln=heron, recorded_peak_c=806.0)
    second = fired(artist, 4, kiln=heron, recorded_peak_c=801.0)
    second.keyed_differences.create(position=3, part="target", value=800)
    fired(artist, 5, kiln=make_kiln("Wren"))
    make_firing(artist, kiln=heron)

    rows = artist_client.get(address_of(heron)).context["rows"]

    assert [each.row.firing for each in rows] == [second, first]
    assert [each.peak_difference for each in rows] == [1.0, 2.0]


def test_peaks_against_the_plan_leave_out_what_was_not_noted(
    artist: Person, artist_client: Client
) -> None:
    kiln = make_kiln()
    for day, peak in [(3, 806.0), (4, None), (5, 801.0), (6, 805.0)]:
        fired(artist, day, kiln=kiln, recorded_peak_c=peak)

    differences = artist_client.get(address_of(kiln)).context["differences"]

    assert differences.values == (1.0, -3.0, 2.0)
    assert (differences.median, differences.lowest, differences.highest) == (1.0, -3.0, 2.0)


def test_differences_are_differences_in_fahrenheit(artist: Person, signed_in) -> None:
    kiln = make_kiln()
    fired(artist, 3, kiln=kiln, recorded_peak_c=809.0)

    page = signed_in(make_person("finn", unit="F")).get(address_of(kiln)).content.decode()

    assert "+9 °F" in page


def test_firings_and_hours_since_each_service(artist: Person, artist_client: Client) -> None:
    kiln = make_kiln()
    old = ServiceEntry.objects.create(
        kiln=kiln, kind="elements", done_on=date(2026, 3, 1), written_by=artist
    )
    new = ServiceEntry.objects.create(
        kiln=kiln, kind="thermocouple", done_on=date(2026, 3, 4), written_by=artist
    )
    fired(artist, 3, kiln=kiln, recorded_duration_s=10 * 3600)
    fired(artist, 4, kiln=kiln, recorded_duration_s=8 * 3600)
    fired(artist, 5, kiln=kiln)

    lines = artist_client.get(address_of(kiln)).context["services"]

    assert [(line.entry, line.firings, line.seconds, line.untimed) for line in lines] == [
        (new, 2, 8 * 3600.0, 1),
        (old, 3, 18 * 3600.0, 1),
    ]


def test_a_kiln_without_history_says_so(artist_client: Client) -> None:
    page = artist_client.get(address_of(make_kiln())).content.decode()

    assert "No firing is noted in it yet." in page
    assert "No recorded peak is noted yet." in page
    assert "Its service diary is empty." in page


def test_missing_kiln_wrong_method_and_outsider(artist_client: Client, outsider: Client) -> None:
    kiln = make_kiln()

    assert artist_client.get(reverse("firings:kiln_history", args=[999])).status_code == 404
    assert artist_client.post(address_of(kiln)).status_code == 405
    assert outsider.get(address_of(kiln)).status_code == 302


def test_query_count_stays(
    artist: Person, artist_client: Client, django_assert_num_queries, django_assert_max_num_queries
) -> None:
    kiln = make_kiln()

    def add(number: int) -> None:
        person = make_person(f"person{number}")
        revision = make_revision(make_schedule(person, name=f"Schedule {number}"))
        firing = fired(person, number, kiln=kiln, revision=revision, recorded_peak_c=804.0)
        load_piece(firing, verdict=0)
        ServiceEntry.objects.create(kiln=kiln, kind="relay", written_by=person)

    add(1)
    artist_client.get(address_of(kiln))
    with django_assert_max_num_queries(31) as first:
        artist_client.get(address_of(kiln))
    for number in range(2, 6):
        add(number)
    with django_assert_num_queries(len(first.captured_queries)):
        artist_client.get(address_of(kiln))
