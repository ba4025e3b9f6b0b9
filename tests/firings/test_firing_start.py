"""The list before a start, and a start counted back; its states are in test_firing_states."""

from collections.abc import Callable
from datetime import timedelta

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.models import FiringState
from studio.models import Person, SafetyLine
from studio.models.safety import USUAL_LINES
from tests.factories import make_firing

SignIn = Callable[[Person], Client]


def test_what_was_ticked_stays_with_the_firing(artist: Person, signed_in: SignIn) -> None:
    firing = make_firing(artist)
    client = signed_in(artist)
    start = reverse("firings:firing_start", args=[firing.pk])
    assert USUAL_LINES[0] in client.get(start).text
    answer = client.post(start, {"looked_at": USUAL_LINES[1:]}, follow=True)

    firing.refresh_from_db()
    assert firing.state == FiringState.FIRING
    left = [row.text for row in firing.start_checks.all() if not row.is_ticked]
    assert left == USUAL_LINES[:1]
    assert {row.looked_by for row in firing.start_checks.all()} == {artist}
    told = " ".join(str(message) for message in answer.context["messages"])
    assert f"Not ticked before the start: {USUAL_LINES[0]}" in told
    assert f"Inka ticked {len(USUAL_LINES) - 1} of {len(USUAL_LINES)} lines" in answer.text


def test_the_studios_own_lines_are_asked_and_kept_as_they_were(
    artist: Person, signed_in: SignIn
) -> None:
    SafetyLine.objects.create(text="The yard gate is shut", position=1)
    firing = make_firing(artist)
    start = reverse("firings:firing_start", args=[firing.pk])
    signed_in(artist).post(start, {"looked_at": ["The yard gate is shut"]})
    SafetyLine.objects.update(text="Another")

    row = firing.start_checks.get()
    assert (row.text, row.is_ticked) == ("The yard gate is shut", True)


def test_a_list_that_was_changed_meanwhile_is_looked_at_again(
    artist: Person, signed_in: SignIn
) -> None:
    firing = make_firing(artist)
    start = reverse("firings:firing_start", args=[firing.pk])
    answer = signed_in(artist).post(start, {"looked_at": ["gone"], "room_temperature_c": "19"})

    assert "changed its list meanwhile" in answer.text
    assert answer.context["form"]["room_temperature_c"].value() == "19"
    firing.refresh_from_db()
    assert firing.state == FiringState.PLANNED


def test_start_is_counted_back_from_the_wanted_opening(artist: Person, signed_in: SignIn) -> None:
    firing = make_firing(artist)
    start = reverse("firings:firing_start", args=[firing.pk])
    client = signed_in(artist)
    ready = timezone.now() + timedelta(days=3)
    page = client.get(start, {"ready_by": f"{ready:%Y-%m-%dT%H:%M}"})
    assert page.context["now"].start_by < ready - timedelta(hours=9)
    assert "start by" in page.text

    soon = timezone.now() + timedelta(hours=1)
    page = client.get(start, {"ready_by": f"{soon:%Y-%m-%dT%H:%M}"})
    assert "That is past." in page.text
    page = client.get(start, {"ready_by": "soon"})
    assert "Write a day and a time" in page.text
