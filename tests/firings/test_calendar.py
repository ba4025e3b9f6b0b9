from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.models import Booking, Firing, UnknownFiring
from studio.models import Kiln, Person, Studio
from tests.factories import make_firing, make_kiln, make_revision, make_schedule

SignedIn = Callable[[Person], Client]
CALENDAR = "/calendar/"
TUESDAY = datetime(2027, 3, 9, 9, 30, tzinfo=UTC)


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def planned(artist: Person, kiln: Kiln) -> Firing:
    return make_firing(artist, kiln=kiln, title="Tide bowl", planned_start=TUESDAY)


def entries(page: Any, day: int, kiln: int = 0) -> list[tuple[str, bool, bool]]:
    found = page.context["week"].days[day].kilns[kiln].entries
    return [(entry.title, entry.begins, entry.ends) for entry in found]


def test_a_night_stands_on_both_its_days(
    artist: Person, signed_in: SignedIn, planned: Firing
) -> None:
    page = signed_in(artist).get(CALENDAR, {"day": "2027-03-11"})
    assert page.context["week"].monday.isoformat() == "2027-03-08"
    assert entries(page, 1) == [("Tide bowl", True, False)]
    assert entries(page, 2) == [("Tide bowl", False, True)]
    assert entries(page, 0) == entries(page, 3) == []
    assert "from 09:30 · Inka · planned" in page.text
    assert "until about " in page.text


def test_days_are_the_studios(artist: Person, signed_in: SignedIn, planned: Firing) -> None:
    """In Honolulu, ten hours behind, Tuesday 9:30 is Monday 23:30."""
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Pacific/Honolulu"})
    page = signed_in(artist).get(CALENDAR, {"day": "2027-03-08"})
    assert entries(page, 0) == [("Tide bowl", True, False)]
    assert "from 23:30" in page.text


def test_a_day_of_twenty_three_hours_ends_at_its_midnight(
    artist: Person, signed_in: SignedIn, kiln: Kiln
) -> None:
    """Lisbon, 28 March 2027: the day that has no 1:30 begins at 0:00 and ends 23 hours later."""
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Europe/Lisbon"})
    midnight = datetime(2027, 3, 28, 23, 0, tzinfo=UTC)  # 0:00 on Monday, in summer time
    make_firing(artist, kiln=kiln, planned_start=midnight)
    page = signed_in(artist).get(CALENDAR, {"day": "2027-03-28"})
    assert entries(page, 6) == []
    after = signed_in(artist).get(CALENDAR, {"day": "2027-03-29"})
    assert len(entries(after, 0)) == 1


def test_what_fires_and_was_not_opened_stands_until_now(
    artist: Person, signed_in: SignedIn, kiln: Kiln
) -> None:
    make_firing(artist, kiln=kiln, state="firing", started_at=timezone.now() - timedelta(days=5))
    week = signed_in(artist).get(CALENDAR).context["week"]
    today = next(day for day in week.days if day.is_today)
    assert [entry.ends for entry in today.kilns[0].entries] == [True]


def test_two_that_want_one_kiln_are_marked(
    artist: Person, student: Person, signed_in: SignedIn, planned: Firing
) -> None:
    browser = signed_in(artist)
    assert "overlaps" not in browser.get(CALENDAR, {"day": "2027-03-09"}).text
    make_firing(student, kiln=planned.kiln, planned_start=TUESDAY + timedelta(hours=3))
    page = browser.get(CALENDAR, {"day": "2027-03-09"})
    assert page.text.count("overlaps") >= 2
    assert "Two firings want one kiln" in page.text


def test_called_off_leaves_the_page(artist: Person, signed_in: SignedIn, planned: Firing) -> None:
    Booking.objects.update(is_cancelled=True)
    assert entries(signed_in(artist).get(CALENDAR, {"day": "2027-03-09"}), 1) == []


def test_one_kiln_alone(artist: Person, signed_in: SignedIn, planned: Firing) -> None:
    wren = make_kiln("Wren")
    page = signed_in(artist).get(CALENDAR, {"day": "2027-03-09", "kiln": wren.pk})
    assert page.context["week"].kilns == [wren]
    assert "Tide bowl" not in page.text


def test_private_firing_shows_who_and_when_as_the_logbook_does(
    artist: Person, student: Person, signed_in: SignedIn, planned: Firing
) -> None:
    Firing.objects.update(is_private=True, notes="a gift")
    page = signed_in(student).get(CALENDAR, {"day": "2027-03-09"})
    assert "Tide bowl" in page.text
    assert "a gift" not in page.text


@pytest.mark.parametrize("asked", [{"day": "soon"}, {"kiln": "x"}, {"kiln": "999"}])
def test_nonsense_in_the_address_is_a_plain_page(
    artist: Person, signed_in: SignedIn, asked: dict[str, str]
) -> None:
    assert signed_in(artist).get(CALENDAR, asked).status_code == 404


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_the_ends_of_time_are_pages_too(artist: Person, signed_in: SignedIn, day: str) -> None:
    assert signed_in(artist).get(CALENDAR, {"day": day}).status_code == 200


def test_query_count_stays(
    artist: Person, signed_in: SignedIn, planned: Firing, django_assert_num_queries: Any
) -> None:
    browser = signed_in(artist)
    asked = {"day": "2027-03-09"}
    browser.get(CALENDAR, asked)
    with CaptureQueriesContext(connection) as few:
        browser.get(CALENDAR, asked)
    for number in range(5):
        another = make_kiln(f"Kiln {number}")
        revision = make_revision(make_schedule(artist, name=f"Slump {number}"))
        make_firing(artist, kiln=another, revision=revision, planned_start=TUESDAY)
    with django_assert_num_queries(len(few)):
        browser.get(CALENDAR, asked)


def test_empty_studio_and_outsider_and_method(
    artist: Person, signed_in: SignedIn, outsider: Client
) -> None:
    browser = signed_in(artist)
    assert "There is no kiln yet" in browser.get(CALENDAR).text
    assert browser.post(CALENDAR).status_code == 405
    assert outsider.get(CALENDAR).url.startswith(reverse("studio:sign_in"))


def test_what_runs_unknown_is_drawn_on_its_days(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    kiln = make_kiln()
    found = UnknownFiring.objects.create(kiln=kiln, seen_c=620.0, noted_by=artist)
    page = signed_in(artist).get(reverse("firings:calendar"))
    assert "Running, nobody knows what" in page.text
    assert reverse("firings:unknown_firing", args=[found.pk]) in page.text
    found.closed_at, found.closed_by, found.reason = timezone.now(), artist, "It was a test."
    found.save()
    page = signed_in(artist).get(reverse("firings:calendar"))
    assert "Running, nobody knows what" not in page.text
