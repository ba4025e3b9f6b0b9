from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from firings.models import (
    Fault,
    Firing,
    FiringEvent,
    NoteTaken,
    Photograph,
    SpotReading,
    StartCheck,
)
from studio.models import Person
from tests.factories import (
    load_piece,
    make_firing,
    make_forecast,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def opened(person: Person, day: int = 0, **overrides: object) -> Firing:
    start = START + timedelta(days=day)
    return make_firing(
        person,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=16),
        **overrides,
    )


def page_of(client: Client, firing: Firing) -> str:
    response = client.get(reverse("firings:firing_detail", args=[firing.pk]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


@pytest.fixture
def artist_client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


@pytest.mark.parametrize("state", ["planned", "firing"])
def test_time_of_opening_comes_with_its_caution(
    artist: Person, artist_client: Client, state: str
) -> None:
    page = page_of(artist_client, make_firing(artist, state=state, planned_start=START))
    after_the_time = page.partition("By the plan it is cool enough to open")[2]
    assert "Read the display before you open." in after_the_time
    assert "A calculation, not a guarantee." in after_the_time


def test_page_holds_planned_against_recorded(artist: Person, artist_client: Client) -> None:
    firing = opened(
        artist, recorded_peak_c=806.0, recorded_hold_s=540, recorded_duration_s=40 * 3600
    )

    page = page_of(artist_client, firing)

    assert "<td>804 °C</td><td>806 °C</td><td>+2 °C</td>" in page
    assert "<td>10 min</td><td>9 min</td><td>−1 min</td>" in page
    assert "At the top the kiln did what was keyed" in page


def test_page_is_in_the_readers_unit(artist: Person, signed_in) -> None:
    firing = opened(artist, recorded_peak_c=814.0)

    page = page_of(signed_in(make_person("finn", unit="F")), firing)

    assert "<td>1479 °F</td><td>1497 °F</td><td>+18 °F</td>" in page
    assert "more than 9 °F or 5 min" in page


def test_missed_plan_is_said(artist: Person, artist_client: Client) -> None:
    firing = opened(artist, recorded_peak_c=796.0)
    load_piece(firing, verdict=-1)

    page = page_of(artist_client, firing)

    assert "The kiln missed the plan at the top" in page
    assert "The kiln did not do what was keyed" in page
    assert "Make revision" not in page


def test_nothing_recorded_is_said_and_no_curve_is_invented(
    artist: Person, artist_client: Client
) -> None:
    page = page_of(artist_client, opened(artist))

    assert "Nothing of its course was noted" in page
    assert 'class="recorded"' not in page
    assert 'class="reading"' not in page
    assert 'class="planned"' in page


def test_a_noted_peak_is_a_dot_not_a_curve(artist: Person, artist_client: Client) -> None:
    page = page_of(artist_client, opened(artist, recorded_peak_c=804.0))

    assert 'class="reading"' in page
    assert 'class="recorded"' not in page
    assert "when it was reached was not noted" in page


def test_the_plan_is_what_was_keyed(artist: Person, artist_client: Client) -> None:
    firing = opened(artist, recorded_peak_c=800.0)
    firing.keyed_differences.create(position=3, part="target", value=800)

    page = page_of(artist_client, firing)

    assert "<td>800 °C</td><td>800 °C</td><td>0 °C</td>" in page
    assert "as it was keyed" in page


def test_a_plan_out_of_reach_says_so(artist: Person, artist_client: Client) -> None:
    weak = make_kiln("Wren", full_power_limit_c=780.0, rise_at_700_c_per_h=60.0)

    page = page_of(artist_client, opened(artist, kiln=weak, recorded_peak_c=770.0))

    assert "does not reach a target of this plan" in page
    assert "By its record this kiln does not reach" in page


@pytest.mark.parametrize(
    ("state", "says", "name"),
    [("planned", "Start it", "firing_start"), ("firing", "Watch it", "firing_now")],
)
def test_the_next_act_stands_at_the_top(
    artist: Person, artist_client: Client, state: str, says: str, name: str
) -> None:
    firing = make_firing(artist, state=state)

    page = page_of(artist_client, firing)

    assert (
        f'<a class="button main" href="{reverse(f"firings:{name}", args=[firing.pk])}">{says}'
        in page
    )
    assert "Next time" not in page


def test_a_piece_of_mine_waits_to_be_judged(
    artist: Person, student: Person, artist_client: Client, signed_in
) -> None:
    firing = opened(artist)
    mine = load_piece(firing)
    address = reverse("firings:piece_judge", args=[mine.pk])

    assert f'main" href="{address}">Judge Tide blank</a>' in page_of(artist_client, firing)
    assert address not in page_of(signed_in(student), firing)


def test_called_off_says_why(artist: Person, artist_client: Client) -> None:
    firing = make_firing(
        artist, state="called_off", called_off_at=START, called_off_reason="The lid is cracked."
    )

    page = page_of(artist_client, firing)

    assert "The lid is cracked." in page
    assert reverse("firings:firing_edit", args=[firing.pk]) not in page


def test_note_says_change_chances_reasons_and_firings(
    artist: Person, artist_client: Client
) -> None:
    revision = make_revision(make_schedule(artist))
    for day in range(4):
        firing = opened(artist, day, revision=revision, recorded_peak_c=804.0, recorded_hold_s=600)
        load_piece(firing, verdict=-1)

    page = page_of(artist_client, firing)

    assert "Next time:" in page
    assert "The verdicts ask for more heat work" in page
    assert "Chance of “as wanted”" in page
    assert "Rests on 4 firings" in page
    assert "Make revision 2" in page
    assert "About the same heat work" in page
    assert "A calculation, not a guarantee" in page


def test_not_judged_asks_for_a_verdict(artist: Person, artist_client: Client) -> None:
    firing = opened(artist)
    load_piece(firing)

    page = page_of(artist_client, firing)

    assert "fire it again unchanged" in page
    assert "Note next time: a verdict for each piece" in page
    assert "Make revision" not in page


def test_a_crack_looks_elsewhere_and_names_the_first_try(
    artist: Person, artist_client: Client
) -> None:
    firing = opened(artist, recorded_peak_c=804.0, recorded_hold_s=600)
    piece = load_piece(firing, verdict=-1)
    Fault.objects.create(loaded_piece=piece, kind="crack_rounded", severity=3, noted_by=artist)

    page = page_of(artist_client, firing)

    assert "look elsewhere first" in page
    assert "halve the rate of the first ramp, up to 540 °C" in page
    assert "Leave alone: the peak, the hold, the anneal" in page


def test_an_older_revision_and_a_later_firing_are_said(
    artist: Person, artist_client: Client
) -> None:
    schedule = make_schedule(artist)
    first = opened(artist, 0, revision=make_revision(schedule))
    later = opened(artist, 1, revision=make_revision(schedule))
    load_piece(first, verdict=-1)

    page = page_of(artist_client, first)

    assert "This firing followed revision 1. The note is for the newest, revision 2." in page
    assert f"firing {later.pk}</a>, counts here too" in page


def test_who_may_not_revise_is_told_who_may(artist: Person, student: Person, signed_in) -> None:
    revision = make_revision(make_schedule(artist))
    for day in range(3):
        firing = opened(artist, day, revision=revision, recorded_peak_c=804.0, recorded_hold_s=600)
        load_piece(firing, verdict=-2)

    page = page_of(signed_in(student), firing)

    assert "Inka, an instructor or the keeper may make revision 2" in page
    assert '<button class="main">Make revision' not in page


def test_a_taken_note_shows_its_forecast(artist: Person, artist_client: Client) -> None:
    firing = opened(artist)
    forecast = make_forecast(firing, peak_delta_c=5.0, chance_now=0.58, chance_then=0.74)
    NoteTaken.objects.create(
        firing=firing,
        revision=make_revision(firing.revision.schedule),
        forecast=forecast,
        taken_by=artist,
    )

    page = page_of(artist_client, firing)

    assert "5 °C hotter, by Inka" in page
    assert "58 % → 74 %" in page
    assert "Next time:" not in page


def test_missing_firing_and_wrong_method(artist_client: Client, artist: Person) -> None:
    firing = make_firing(artist)

    assert artist_client.get(reverse("firings:firing_detail", args=[999])).status_code == 404
    address = reverse("firings:firing_detail", args=[firing.pk])
    assert artist_client.post(address).status_code == 405


def test_outsider_is_led_to_sign_in(outsider: Client, artist: Person) -> None:
    firing = make_firing(artist)

    for name in ("firing_detail", "firing_chart_data"):
        assert outsider.get(reverse(f"firings:{name}", args=[firing.pk])).status_code == 302


def test_chart_data_says_what_the_drawing_shows(artist: Person, artist_client: Client) -> None:
    firing = opened(artist, recorded_peak_c=806.0)

    figure = artist_client.get(reverse("firings:firing_chart_data", args=[firing.pk])).json()

    traces = {trace["meta"]: trace for trace in figure["data"]}
    assert set(traces) == {"planned", "readings"}
    assert traces["readings"]["y"] == [806.0]
    assert max(traces["planned"]["y"]) == pytest.approx(804.0, abs=0.5)
    assert (
        artist_client.post(reverse("firings:firing_chart_data", args=[firing.pk])).status_code
        == 405
    )


def test_query_count_stays(
    artist: Person, artist_client: Client, django_assert_num_queries, django_assert_max_num_queries
) -> None:
    revision = make_revision(make_schedule(artist))
    firing = opened(artist, 50, revision=revision)

    def add(number: int) -> None:
        person = make_person(f"person{number}")
        piece = load_piece(firing, maker=person, verdict=0)
        Fault.objects.create(loaded_piece=piece, kind="split", noted_by=person)
        FiringEvent.objects.create(firing=firing, kind="vented", noted_by=person)
        Photograph.objects.create(
            firing=firing, width=4, height=3, digest=str(number), taken_by=person
        )
        SpotReading.objects.create(
            firing=firing,
            at=firing.started_at + timedelta(hours=1 + number),
            temperature_c=150.0 * (1 + number),
            noted_by=person,
        )
        StartCheck.objects.create(
            firing=firing, position=number, text="Shelf dry", is_ticked=False, looked_by=person
        )
        other = opened(person, number, revision=revision, kiln=make_kiln(f"Kiln {number}"))
        load_piece(other, verdict=-1)

    add(0)
    address = reverse("firings:firing_detail", args=[firing.pk])
    artist_client.get(address)
    with django_assert_max_num_queries(33) as first:
        artist_client.get(address)
    for number in range(1, 5):
        add(number)
    with django_assert_num_queries(len(first.captured_queries)):
        artist_client.get(address)
