"""The page after a power cut: noted, worked out, followed, and left out of the tuning."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from firings.advice_inputs import past_firing
from firings.core_inputs import keyed_curve, schedule_glass
from firings.models import Firing
from firings.queries.watching import firing_now, running_firings
from studio.models import Person
from tests.factories import load_piece, make_firing

SignedIn = Callable[[Person], Client]
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)


@pytest.fixture
def firing(artist: Person) -> Firing:
    return make_firing(artist, state="firing", started_at=START)


@pytest.fixture
def client(artist: Person, signed_in: SignedIn) -> Client:
    return signed_in(artist)


def address(firing: Firing) -> str:
    return reverse("firings:power_cut", args=[firing.pk])


def sent(client: Client, firing: Firing, hours: float, celsius: str, without: str) -> str:
    with time_machine.travel(START + timedelta(hours=hours), tick=False):
        answer = client.post(
            address(firing), {"temperature_c": celsius, "without_s": without}, follow=True
        )
    return " ".join(answer.text.split())


def test_soft_glass_carries_on(client: Client, firing: Firing) -> None:
    top_h = keyed_curve(firing).spans[2].hold_start / 3600
    text = sent(client, firing, top_h + 0.3, "690", "20")
    assert "Carry on from here" in text
    assert "<td>330 °C/h</td><td>804 °C</td>" in text


def test_rigid_glass_restarts_by_its_thickness(client: Client, firing: Firing) -> None:
    load_piece(firing, thickest_mm=19.0, thinnest_mm=19.0)
    text = sent(client, firing, 3.0, "250", "40")
    assert "Restart slowly" in text
    assert "<td>45 °C/h</td><td>540 °C</td>" in text


def test_a_broken_anneal_is_done_again(client: Client, firing: Firing) -> None:
    soak_h = keyed_curve(firing).spans[3].hold_start / 3600
    text = sent(client, firing, soak_h + 1.2, "300", "1:00")
    assert "Anneal again" in text
    assert "<td>150 °C/h</td><td>482 °C</td><td>1 h 00</td>" in text


def test_both_are_noted_and_the_live_page_follows_what_is_left(
    client: Client, firing: Firing
) -> None:
    sent(client, firing, 3.0, "250", "40 min")
    [event] = firing.events.all()
    [reading] = firing.spot_readings.all()
    now = START + timedelta(hours=3)
    assert (event.kind, event.minutes) == ("power_cut", 40)
    assert event.happened_at == now - timedelta(minutes=40)
    assert (reading.at, reading.temperature_c) == (now, 250.0)
    fire = firing_now(running_firings().get(), now + timedelta(hours=1))
    assert fire.expected_c == pytest.approx(400.0)  # 150 °C/h from 250


def test_it_is_left_out_of_the_tuning(client: Client, firing: Firing, artist: Person) -> None:
    sent(client, firing, 3.0, "250", "40")
    firing.state, firing.opened_at = "opened", START + timedelta(hours=30)
    firing.save()
    assert past_firing(Firing.objects.get(), schedule_glass(firing.revision)) is None


@pytest.mark.parametrize(
    ("celsius", "without", "field", "says"),
    [
        ("cold", "40", "temperature_c", "Enter a number"),
        ("250", "a while", "without_s", "hours and minutes"),
        ("250", "4:00", "without_s", "has not run for so long"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(
    client: Client, firing: Firing, celsius: str, without: str, field: str, says: str
) -> None:
    with time_machine.travel(START + timedelta(hours=3), tick=False):
        answer = client.post(address(firing), {"temperature_c": celsius, "without_s": without})
    assert says in answer.context["form"].errors[field][0]
    assert f'value="{celsius}"' in answer.text
    assert f'value="{without}"' in answer.text
    assert not firing.events.exists()


def test_sent_twice_it_is_noted_once(client: Client, firing: Firing) -> None:
    told = {
        "temperature_c": "250",
        "without_s": "40",
        "form_key": "9d0c4c3e-8c39-4a17-b51f-0b7e6a9d1b55",
    }
    with time_machine.travel(START + timedelta(hours=3), tick=False):
        for _ in range(2):
            client.post(address(firing), told)
    assert (firing.events.count(), firing.spot_readings.count()) == (1, 1)


def test_what_no_longer_fires_leads_to_its_record(client: Client, artist: Person) -> None:
    opened = make_firing(artist, state="opened")
    assert client.get(address(opened)).headers["Location"] == reverse(
        "firings:firing_detail", args=[opened.pk]
    )
