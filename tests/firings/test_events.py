"""Events on the way, and what was keyed otherwise than written."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.models import Firing, FiringEvent, KeyedDifference
from studio.models import Person
from tests.factories import FULL_FUSE, make_firing, make_revision, make_schedule

SignedIn = Callable[[Person], Client]


def at(view: str, pk: int) -> str:
    return reverse(f"firings:{view}", args=[pk])


def hours_ago(hours: float) -> str:
    return (timezone.localtime() - timedelta(hours=hours)).strftime("%Y-%m-%dT%H:%M")


def test_event_is_noted_and_taken_back(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="firing")
    browser = signed_in(artist)
    told = {"kind": "power_cut", "happened_at": hours_ago(2), "minutes": "40", "note": "storm"}
    browser.post(at("event_add", firing.pk), told)
    event = FiringEvent.objects.get()
    assert (event.kind, event.minutes, event.noted_by) == ("power_cut", 40, artist)
    browser.post(at("event_remove", event.pk))
    assert not FiringEvent.objects.exists()


def test_event_of_a_firing_that_is_over_is_asked_for_from_its_start(
    artist: Person, signed_in: SignedIn
) -> None:
    opened, running = (make_firing(artist, state=state) for state in ("opened", "firing"))
    browser = signed_in(artist)
    asked = {
        firing.pk: browser.get(at("event_add", firing.pk)).context["form"].initial["happened_at"]
        for firing in (opened, running)
    }
    assert asked[opened.pk] == opened.started_at
    assert asked[running.pk] > running.started_at


@pytest.mark.parametrize(
    ("field", "wrong", "says"),
    [
        ("kind", "ghost", "valid choice"),
        ("kind", "", "required"),
        ("happened_at", "at noon", "day and a time"),
        ("happened_at", "2001-01-01T10:00", "before this firing was started"),
        ("happened_at", "2199-01-01T10:00", "future"),
        ("minutes", "-3", "greater than or equal to 0"),
    ],
)
def test_wrong_event_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person, signed_in: SignedIn, field: str, wrong: str, says: str
) -> None:
    firing = make_firing(artist, state="firing")
    told = {"kind": "vented", "happened_at": hours_ago(2), "note": "a finger wide"} | {field: wrong}
    page = signed_in(artist).post(at("event_add", firing.pk), told)
    assert says in " ".join(page.context["form"].errors[field])
    assert page.context["form"]["note"].value() == "a finger wide"


def test_event_after_the_opening_is_refused(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened", opened_at=timezone.now() - timedelta(hours=5))
    told = {"kind": "vented", "happened_at": hours_ago(1)}
    page = signed_in(artist).post(at("event_add", firing.pk), told)
    assert page.context["form"].errors["happened_at"]


def test_event_in_the_minute_of_the_start_counts(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="firing", started_at=timezone.now() - timedelta(hours=3))
    told = {"kind": "vented", "happened_at": hours_ago(3)}
    signed_in(artist).post(at("event_add", firing.pk), told)
    assert FiringEvent.objects.count() == 1


def test_same_form_sent_twice_notes_one_event(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="firing")
    told = {"kind": "vented", "happened_at": hours_ago(2), "form_key": str(uuid4())}
    for _ in range(2):
        signed_in(artist).post(at("event_add", firing.pk), told)
    assert FiringEvent.objects.count() == 1


def as_written(**overrides: Any) -> dict[str, Any]:
    rows: dict[str, Any] = {}
    for number, (rate, target, hold) in enumerate(FULL_FUSE, start=1):
        rows |= {f"rate_{number}": rate or "", f"target_{number}": target, f"hold_{number}": hold}
    return rows | overrides


def kept(firing: Firing) -> dict[tuple[int, str], Decimal | None]:
    return {(row.position, row.part): row.value for row in firing.keyed_differences.all()}


def test_form_shows_the_revisions_numbers_in_its_own_unit(
    artist: Person, signed_in: SignedIn
) -> None:
    segments: list[tuple[str | None, str, int]] = [("300", "1480", 10), (None, "900", 90)]
    revision = make_revision(make_schedule(artist), segments, unit="F")
    firing = make_firing(artist, revision=revision)
    form = signed_in(artist).get(at("keyed_edit", firing.pk)).context["form"]
    assert form["target_1"].value() == "1480"
    assert (form["rate_2"].value(), form["hold_2"].value()) == (None, "1:30")
    assert form["rate_1"].label == "Rate, °F/h"


def test_only_what_differs_is_kept(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    told = as_written(target_3="810", hold_3="0:12", rate_1="", rate_4="500", target_2="677.0")
    signed_in(artist).post(at("keyed_edit", firing.pk), told)
    assert kept(firing) == {
        (1, "rate"): None,  # full power instead of 150
        (3, "target"): Decimal(810),
        (3, "hold"): Decimal(12),
        (4, "rate"): Decimal(500),
    }


def test_form_comes_back_with_what_was_keyed_and_can_take_it_back(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    browser = signed_in(artist)
    browser.post(at("keyed_edit", firing.pk), as_written(target_3="810.5", rate_1="", hold_3="12"))
    form = browser.get(at("keyed_edit", firing.pk)).context["form"]
    assert (form["target_3"].value(), form["hold_3"].value()) == ("810.5", "12 min")
    assert form["rate_1"].value() is None
    browser.post(at("keyed_edit", firing.pk), as_written())
    assert not KeyedDifference.objects.exists()


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("rate_1", "fast"),
        ("rate_1", "0"),
        ("rate_1", "-20"),
        ("target_3", ""),
        ("target_3", "hot"),
        ("hold_3", "-5"),
        ("hold_3", "forever"),
    ],
)
def test_wrong_number_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person, signed_in: SignedIn, field: str, wrong: str
) -> None:
    firing = make_firing(artist)
    told = as_written(target_5="365") | {field: wrong}
    page = signed_in(artist).post(at("keyed_edit", firing.pk), told)
    assert page.context["form"].errors.keys() == {field}
    assert page.context["form"]["target_5"].value() == "365"
    assert not KeyedDifference.objects.exists()


@pytest.mark.parametrize("view", ["event_add", "keyed_edit"])
def test_only_those_whose_firing_it_is(
    view: str,
    artist: Person,
    student: Person,
    keeper: Person,
    signed_in: SignedIn,
    outsider: Client,
) -> None:
    firing = make_firing(artist, state="firing")
    for person, status in ((artist, 200), (keeper, 200), (student, 403)):
        assert signed_in(person).get(at(view, firing.pk)).status_code == status
    assert outsider.get(at(view, firing.pk)).url.startswith(reverse("studio:sign_in"))
    assert signed_in(keeper).get(at(view, 999_999)).status_code == 404
    assert signed_in(keeper).delete(at(view, firing.pk)).status_code == 405


def test_event_of_another_is_not_taken_back(
    artist: Person, student: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="firing")
    event = FiringEvent.objects.create(firing=firing, kind="vented", noted_by=artist)
    assert signed_in(student).post(at("event_remove", event.pk)).status_code == 403
    assert signed_in(artist).get(at("event_remove", event.pk)).status_code == 405


def test_nothing_happens_in_a_firing_before_its_start(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    told = {"kind": "vented", "happened_at": hours_ago(1)}

    page = signed_in(artist).post(at("event_add", firing.pk), told)

    assert "has not been started" in " ".join(page.context["form"].errors["happened_at"])
    assert not firing.events.exists()
