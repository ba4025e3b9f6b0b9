from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from firings.models import Firing
from studio.models import Person
from tests.factories import (
    load_piece,
    make_family,
    make_firing,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)

NOW = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _at_nine() -> None:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def artist_client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


def running(person: Person, hours_ago: float, **overrides: object) -> Firing:
    return make_firing(
        person, state="firing", started_at=NOW - timedelta(hours=hours_ago), **overrides
    )


def test_an_empty_studio_is_led_through_first_steps(keeper: Person, signed_in) -> None:
    page = signed_in(keeper).get("/").content.decode()

    assert "First steps" in page
    assert "The keeper does this." not in page
    for step in ("studio:kiln_add", "studio:family_add", "studio:invitation_make"):
        assert reverse(step) in page
    assert "Waiting for your verdict" not in page
    assert "In the kilns" not in page


def test_first_steps_end_with_the_first_firing(artist: Person, artist_client: Client) -> None:
    make_firing(artist)

    assert "First steps" not in artist_client.get("/").content.decode()


def test_student_is_not_sent_to_add_kilns(student: Person, signed_in) -> None:
    page = signed_in(student).get("/").content.decode()

    assert "The keeper does this." in page
    for step in ("studio:kiln_add", "studio:family_add", "studio:invitation_make"):
        assert reverse(step) not in page


def test_a_family_without_glass_leads_on_to_the_glass(keeper: Person, signed_in) -> None:
    make_family()

    page = signed_in(keeper).get("/").content.decode()

    assert reverse("studio:glass_add") in page
    assert reverse("studio:family_add") not in page


def test_running_kiln_says_when_it_should_be_cool(artist: Person, artist_client: Client) -> None:
    firing = running(artist, hours_ago=2)

    [now_in] = artist_client.get("/").context["kilns"]

    assert now_in.running == firing
    assert now_in.fire.expected_c == pytest.approx(20 + 2 * 150, abs=0.1)  # 150 °C/h from 20 °C
    assert not now_in.fire.should_be_cool
    assert NOW + timedelta(hours=8) < now_in.fire.opening.at < NOW + timedelta(days=2)


def test_what_was_keyed_counts_not_what_was_written(artist: Person, artist_client: Client) -> None:
    firing = running(artist, hours_ago=2)
    firing.keyed_differences.create(position=1, part="rate", value=100)

    [now_in] = artist_client.get("/").context["kilns"]

    assert now_in.fire.expected_c == pytest.approx(220, abs=0.1)


def test_a_kiln_that_should_be_cool_says_so(artist: Person, artist_client: Client) -> None:
    firing = running(artist, hours_ago=72)

    page = artist_client.get("/").content.decode()

    assert "has been cool enough to open since" in page
    assert reverse("firings:firing_open", args=[firing.pk]) in page


def test_a_plan_out_of_reach_promises_nothing(artist: Person, artist_client: Client) -> None:
    weak = make_kiln("Wren", full_power_limit_c=780.0, rise_at_700_c_per_h=60.0)
    running(artist, hours_ago=2, kiln=weak)

    page = artist_client.get("/").content.decode()

    assert "does not tell when it will be cool" in page


def test_free_kiln_shows_its_last_firing(artist: Person, artist_client: Client) -> None:
    make_firing(artist, state="opened", title="Older", opened_at=NOW - timedelta(hours=3))
    last = make_firing(artist, state="opened", title="Third repeat")

    [now_in] = artist_client.get("/").context["kilns"]

    assert now_in.running is None
    assert now_in.last == last


def test_kiln_out_of_service_is_left_out_unless_it_runs(
    artist: Person, artist_client: Client
) -> None:
    make_kiln("Wren", in_service=False)
    heron = make_kiln("Heron", in_service=False)
    running(artist, hours_ago=2, kiln=heron)

    assert [each.kiln for each in artist_client.get("/").context["kilns"]] == [heron]


def test_only_my_unjudged_opened_pieces_wait_for_me(
    artist: Person, student: Person, artist_client: Client
) -> None:
    opened = make_firing(artist, state="opened")
    mine = load_piece(opened)
    load_piece(opened, verdict=0)
    load_piece(opened, maker=student)
    load_piece(running(artist, hours_ago=2))

    page = artist_client.get("/")

    assert list(page.context["waiting"]) == [mine]
    assert reverse("firings:piece_judge", args=[mine.pk]) in page.content.decode()


def test_planned_firings_come_in_order_and_overdue_is_said(
    artist: Person, student: Person, artist_client: Client
) -> None:
    someday = make_firing(student)
    later = make_firing(artist, planned_start=NOW + timedelta(days=1))
    late = make_firing(artist, planned_start=NOW - timedelta(hours=1))
    make_firing(artist, state="called_off")

    planned = artist_client.get("/").context["planned"]

    assert [each.firing for each in planned] == [late, later, someday]
    assert [each.is_overdue for each in planned] == [True, False, False]
    assert [each.is_mine for each in planned] == [True, True, False]


def test_today_only_answers_get_and_only_to_people(artist_client: Client, outsider: Client) -> None:
    assert artist_client.post("/").status_code == 405
    assert outsider.get("/").status_code == 302


def test_query_count_stays(
    artist: Person, artist_client: Client, django_assert_num_queries, django_assert_max_num_queries
) -> None:
    def add(number: int) -> None:
        person = make_person(f"person{number}")
        revision = make_revision(make_schedule(person, name=f"Schedule {number}"))
        running(person, 2, kiln=make_kiln(f"Kiln {number}"), revision=revision)
        free = make_kiln(f"Free {number}")
        opened = make_firing(person, kiln=free, revision=revision, state="opened")
        load_piece(opened, maker=artist)
        make_firing(person, kiln=free, revision=revision)

    add(0)
    artist_client.get("/")
    with django_assert_max_num_queries(20) as first:
        artist_client.get("/")
    for number in range(1, 5):
        add(number)
    with django_assert_num_queries(len(first.captured_queries)):
        artist_client.get("/")
