"""What a device kept while it had no network, sent by its script: once, and with its time."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from firings.models import Firing, FiringEvent, Photograph, SpotReading
from studio.models import Person
from tests.factories import make_firing
from tests.firings.pictures import picture_file

SignedIn = Callable[[Person], Client]
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
KEY = "5f0c4c3e8c394a17b51f0b7e6a9d1b55"


@pytest.fixture
def firing(artist: Person) -> Firing:
    return make_firing(artist, state="firing", started_at=START)


@pytest.fixture
def client(artist: Person, signed_in: SignedIn) -> Client:
    return signed_in(artist)


def at(view: str, firing: Firing) -> str:
    return reverse(f"firings:{view}", args=[firing.pk])


def hours(number: float) -> datetime:
    return START + timedelta(hours=number)


def kept(person: Person, noted: float, sent: float, **told: Any) -> dict[str, Any]:
    """What the script sends; `noted` and `sent` are hours after the start, by its own clock."""
    times = {"noted_at": hours(noted).isoformat(), "sent_at": hours(sent).isoformat()}
    return {"form_key": KEY, "noted_by": person.pk, **times, **told}


@pytest.mark.parametrize("clock_is_wrong_by", [0.0, 7.0, -30.0])
def test_each_counts_from_when_it_was_noted(
    client: Client, firing: Firing, artist: Person, clock_is_wrong_by: float
) -> None:
    """Counted back from now by how long it waited, whatever the device's own clock says."""
    noted, sent = 2.0 + clock_is_wrong_by, 3.5 + clock_is_wrong_by
    told = {
        "firing_now": {"temperature_c": "315"},
        "event_add": {"kind": "vented", "back": "now"},
        "photograph_add": {"moment": "loaded", "photographs": picture_file(), "back": "now"},
    }
    with time_machine.travel(hours(3.5), tick=False):
        for view, facts in told.items():
            sending = kept(artist, noted, sent, **facts) | {"form_key": ""}
            answer = client.post(at(view, firing), sending)
            assert (answer.status_code, answer.content) == (201, b"")
            assert answer.headers["Location"] == at("firing_now", firing)
    assert SpotReading.objects.get().at == hours(2.0)
    assert FiringEvent.objects.get().happened_at == hours(2.0)
    assert Photograph.objects.get().added_at == hours(2.0)


def test_sent_again_after_a_lost_answer_it_is_there_once(
    client: Client, firing: Firing, artist: Person
) -> None:
    for late in (3.0, 3.2):
        with time_machine.travel(hours(late), tick=False):
            sending = kept(artist, 2.0, late, temperature_c="315")
            assert client.post(at("firing_now", firing), sending).status_code == 201
    assert SpotReading.objects.get().at == hours(2.0)


def test_nothing_is_told_twice(client: Client, firing: Firing, artist: Person) -> None:
    """The script tells what was sent; the next page says nothing of it."""
    with time_machine.travel(hours(3.0), tick=False):
        client.post(at("firing_now", firing), kept(artist, 2.0, 3.0, temperature_c="315"))
        assert "Noted: 315 °C." not in client.get(at("firing_now", firing)).text


def test_under_somebody_elses_name_it_is_not_taken(
    firing: Firing, artist: Person, student: Person, signed_in: SignedIn
) -> None:
    with time_machine.travel(hours(3.0), tick=False):
        sending = kept(artist, 2.0, 3.0, temperature_c="315")
        answer = signed_in(student).post(at("firing_now", firing), sending)
    assert answer.status_code == 409
    assert not SpotReading.objects.exists()


@pytest.mark.parametrize(
    ("noted", "typed", "says"),
    [(2.0, "hot", "Enter a number"), (-2.0, "315", "before this firing"), (9.0, "315", "future")],
)
def test_what_is_refused_says_why_and_leaves_no_receipt(
    client: Client, firing: Firing, artist: Person, noted: float, typed: str, says: str
) -> None:
    with time_machine.travel(hours(3.0), tick=False):
        sending = kept(artist, noted, 3.0, temperature_c=typed)
        answer = client.post(at("firing_now", firing), sending)
        assert answer.status_code == 422
        assert says in answer.text
        right = kept(artist, 2.0, 3.0, temperature_c="315")
        assert client.post(at("firing_now", firing), right).status_code == 201


def test_after_weeks_it_is_left_to_the_record(
    client: Client, firing: Firing, artist: Person
) -> None:
    """By then its receipt would be forgotten, and a second sending would count anew."""
    with time_machine.travel(hours(24 * 31), tick=False):
        sending = kept(artist, 2.0, 24.0 * 31, temperature_c="315")
        answer = client.post(at("firing_now", firing), sending)
    assert answer.status_code == 422
    assert "more than 30 days ago" in answer.text


def test_it_is_taken_after_the_kiln_was_opened(
    client: Client, firing: Firing, artist: Person
) -> None:
    Firing.objects.update(state="opened", opened_at=hours(20.0))
    with time_machine.travel(hours(21.0), tick=False):
        taken = client.post(at("firing_now", firing), kept(artist, 2.0, 21.0, temperature_c="315"))
        late = kept(artist, 20.5, 21.0, temperature_c="40") | {"form_key": ""}
        refused = client.post(at("firing_now", firing), late)
    assert taken.status_code == 201
    assert SpotReading.objects.get().at == hours(2.0)
    assert refused.status_code == 422
    assert "after this kiln was opened" in refused.text


def test_a_reading_is_in_the_unit_of_the_page_that_it_was_noted_on(
    client: Client, firing: Firing, artist: Person
) -> None:
    with time_machine.travel(hours(2.0), tick=False):
        page = client.get(at("firing_now", firing)).text
        assert '<input type="hidden" name="unit" value="C">' in page
        artist.unit = "F"
        artist.save()
        client.post(at("firing_now", firing), {"temperature_c": "315", "unit": "C"})
    assert SpotReading.objects.get().temperature_c == 315.0


# Without script


def test_noted_on_the_live_page_it_leads_back_there(client: Client, firing: Firing) -> None:
    photograph = {"moment": "loaded", "photographs": picture_file()}
    for view, facts in (("event_add", {"kind": "vented"}), ("photograph_add", photograph)):
        answer = client.post(at(view, firing), facts | {"back": "now"})
        assert answer.headers["Location"] == at("firing_now", firing)
    assert client.post(at("event_add", firing), {"back": "//elsewhere"}).status_code == 200
    [event] = FiringEvent.objects.all()
    assert abs(event.happened_at - datetime.now(UTC)) < timedelta(minutes=1)


def test_a_wrong_one_leads_back_there_too_once_it_is_right(client: Client, firing: Firing) -> None:
    page = client.post(at("event_add", firing), {"back": "now", "minutes": "12"})
    assert page.context["form"].errors["kind"]
    assert 'name="back" value="now"' in page.text
    assert "happened_at" not in page.context["form"].fields


def test_live_page_without_rights_to_events_has_no_form_for_them(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    text = signed_in(student).get(at("firing_now", firing)).text
    assert at("event_add", firing) not in text
    assert at("photograph_add", firing) in text
