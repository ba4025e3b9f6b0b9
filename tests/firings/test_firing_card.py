from collections.abc import Callable
from datetime import UTC, datetime

from django.test import Client
from django.urls import reverse

from studio.models import Person
from tests.factories import make_firing, make_kiln, make_revision, make_schedule

SignIn = Callable[[Person], Client]


def test_card_of_a_planned_firing_tells_when_it_can_be_opened(
    artist: Person, signed_in: SignIn
) -> None:
    firing = make_firing(artist, planned_start=datetime(2026, 3, 5, 18, 0, tzinfo=UTC))
    page = signed_in(artist).get(reverse("firings:firing_card", args=[firing.pk]))

    opening = page.context["page"].opening
    assert opening.at > firing.planned_start
    assert f"{opening.at:%H:%M}" in page.text
    assert "planned for Thu 5 Mar, 18:00" in page.text


def test_rounded_numbers_are_recorded_in_one_tap(artist: Person, signed_in: SignIn) -> None:
    kiln = make_kiln(controller_unit="C")
    schedule = make_schedule(artist)
    revision = make_revision(schedule, [("300", "1480", 10), (None, "900", 60)], unit="F")
    firing = make_firing(artist, kiln=kiln, revision=revision)
    client = signed_in(artist)
    card = client.get(reverse("firings:firing_card", args=[firing.pk]))
    assert "It was keyed as this card says, rounded" in card.text

    key = card.context["form_key"]
    keyed = reverse("firings:firing_card_keyed", args=[firing.pk])
    for _ in range(2):
        client.post(keyed, {"form_key": key})

    # 167 °C/h are 300.6 °F/h, 804 °C are 1479.2 °F, 482 °C are 899.6 °F.
    rows = [(row.position, row.part, str(row.value)) for row in firing.keyed_differences.all()]
    assert rows == [
        (1, "rate", "300.60"),
        (1, "target", "1479.20"),
        (2, "target", "899.60"),
    ]


def test_as_written_there_is_nothing_to_record(artist: Person, signed_in: SignIn) -> None:
    firing = make_firing(artist)
    client = signed_in(artist)
    card = client.get(reverse("firings:firing_card", args=[firing.pk]))
    assert "rounded</button>" not in card.text
    client.post(reverse("firings:firing_card_keyed", args=[firing.pk]))
    assert not firing.keyed_differences.exists()


def test_times_rounded_up_are_recorded_as_the_rates_they_come_to(
    artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln(ramp_entry="time", hold_format="h:mm")
    revision = make_revision(make_schedule(artist), [("150", "540", 0), ("300", "804", 10)])
    firing = make_firing(artist, kiln=kiln, revision=revision)
    client = signed_in(artist)
    card = client.get(reverse("firings:firing_card", args=[firing.pk]))
    # 264/300 h are 52.8 min.
    assert "rounded up from 52.8 min" in card.text
    client.post(reverse("firings:firing_card_keyed", args=[firing.pk]))

    # 264 °C in 53 min are 298.87 °C/h; the first ramp's 208 min are exact.
    rows = [(row.position, row.part, str(row.value)) for row in firing.keyed_differences.all()]
    assert rows == [(2, "rate", "298.87")]
