"""What each note of a schedule said, what was fired after it, and what came."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from firings.models import Firing, ForecastScore
from schedules.models import Schedule
from studio.models import Person
from tests.factories import make_firing, make_forecast, make_kiln, make_revision, make_schedule

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


@pytest.fixture
def schedule(artist: Person) -> Schedule:
    make_kiln()
    schedule = make_schedule(artist)
    make_revision(schedule)
    return schedule


@pytest.fixture
def client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


def opened(schedule: Schedule, day: int) -> Firing:
    start = START + timedelta(days=day)
    return make_firing(
        schedule.owner,
        revision=schedule.revisions.latest(),
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=16),
    )


def followed(
    schedule: Schedule, day: int, verdict: int = 0, fired: str = "as_advised", **facts: object
) -> ForecastScore:
    """The note of one firing, and the next firing that is judged."""
    first, second = opened(schedule, day), opened(schedule, day + 1)
    given_at = first.opened_at + timedelta(hours=1)
    forecast = make_forecast(first, **{"peak_delta_c": 5.0, "given_at": given_at} | facts)
    return ForecastScore.objects.create(
        firing=second, forecast=forecast, fired=fired, verdict=verdict
    )


def words(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    text = strip_tags(response.content.decode().replace("</d", " </d")).replace("\u00a0", " ")
    return " ".join(text.split())


def page_of(schedule: Schedule) -> str:
    return reverse("firings:schedule_forecasts", args=[schedule.pk])


def test_each_forecast_stands_beside_what_came(client: Client, schedule: Schedule) -> None:
    score = followed(schedule, 0, verdict=-1)

    page = words(client, page_of(schedule))

    assert "5 °C hotter 50 % → 70 %" in page
    assert f"the change that it advised firing {score.firing_id}" in page
    assert "a touch short chance of “as wanted” was 70 %" in page
    assert "Of 1 that could be scored, 0 came as wanted; the forecasts said 0.7 would." in page


def test_what_was_not_followed_is_not_scored(client: Client, schedule: Schedule) -> None:
    followed(schedule, 0, fired="otherwise")

    page = words(client, page_of(schedule))

    assert "something else" in page
    assert "as wanted not scored" in page
    assert "None of them could be scored" in page


def test_a_note_that_nothing_came_after_waits(client: Client, schedule: Schedule) -> None:
    make_forecast(opened(schedule, 0), hold_delta_s=-300.0)

    page = words(client, page_of(schedule))

    assert "hold 5 min less" in page
    assert "1 note is kept; no firing after it is judged yet." in page


def test_what_looks_elsewhere_tells_no_chance(client: Client, schedule: Schedule) -> None:
    followed(schedule, 0, fired="as_it_stood", action="look_elsewhere", peak_delta_c=0.0)

    page = words(client, page_of(schedule))

    assert "look elsewhere first" in page
    assert "50 %" not in page


def test_the_schedules_page_shows_the_last_ones(client: Client, schedule: Schedule) -> None:
    address = reverse("schedules:schedule_detail", args=[schedule.pk])
    assert "How the forecasts did" not in words(client, address)
    for day in range(0, 14, 2):
        followed(schedule, day)

    response = client.get(address)

    text = response.content.decode()
    assert "How the forecasts did" in text
    assert text.count("the change that it advised") == 5
    assert "7 notes are kept, and 7 judged firings came after them." in text
    assert page_of(schedule) in text
    assert reverse("firings:advice_record") in text


def test_a_firing_says_what_was_foretold_of_it(client: Client, schedule: Schedule) -> None:
    score = followed(schedule, 0, verdict=1)

    page = words(client, reverse("firings:firing_detail", args=[score.firing_id]))

    assert "What was foretold of it The note of 4 Mar 2026 5 °C hotter" in page
    assert "Chance of “as wanted” so 70 % Came out a touch far" in page


def test_the_number_of_questions_stays(
    client: Client, schedule: Schedule, django_assert_max_num_queries
) -> None:
    followed(schedule, 0)
    counts = {}
    addresses = [
        page_of(schedule),
        reverse("schedules:schedule_detail", args=[schedule.pk]),
    ]
    for address in addresses:
        with django_assert_max_num_queries(50) as few:
            client.get(address)
        counts[address] = len(few)
    for day in range(2, 40, 2):
        followed(schedule, day)
    for address in addresses:
        with django_assert_max_num_queries(counts[address]):
            client.get(address)


def test_a_long_ledger_has_pages(client: Client, schedule: Schedule) -> None:
    for day in range(26):
        make_forecast(opened(schedule, day))

    assert len(client.get(page_of(schedule)).context["page"]) == 25
    assert len(client.get(page_of(schedule) + "?page=2").context["page"]) == 1


def test_an_unfired_schedule_has_none_yet(client: Client, schedule: Schedule) -> None:
    assert "No note was given yet." in words(client, page_of(schedule))


def test_wrong_method_missing_and_outsider(
    client: Client, outsider: Client, schedule: Schedule
) -> None:
    assert client.post(page_of(schedule)).status_code == 405
    assert client.get(reverse("firings:schedule_forecasts", args=[999])).status_code == 404
    assert outsider.get(page_of(schedule)).status_code == 302
