"""Readings noted by hand: added, refused, taken back."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions.spot_readings import spot_reading_add
from firings.models import Firing, SpotReading
from studio.formats import plain
from studio.models import Person, Studio
from tests.factories import make_firing, make_person

SignedIn = Callable[[Person], Client]
START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def at(view: str, *args: Any) -> str:
    return reverse(f"firings:{view}", args=args)


def fired(person: Person, **overrides: Any) -> Firing:
    hours = timedelta(hours=16)
    told = {"state": "opened", "started_at": START, "opened_at": START + hours} | overrides
    return make_firing(person, **told)


def noted(firing: Firing, minutes: float, temperature_c: float = 500.0) -> SpotReading:
    return SpotReading.objects.create(
        firing=firing,
        at=START + timedelta(minutes=minutes),
        temperature_c=temperature_c,
        noted_by=firing.fired_by,
    )


def test_reading_is_noted_in_the_readers_unit_and_the_studios_zone(
    db: None, signed_in: SignedIn
) -> None:
    studio = Studio.current()
    studio.time_zone = "Europe/Lisbon"
    studio.save()
    person = make_person("wilf", unit="F")
    firing = fired(person, started_at=datetime(2026, 7, 1, 8, 0, tzinfo=UTC), opened_at=None,
                   state="firing")  # fmt: skip
    told = {"temperature_c": "1479", "at": "2026-07-01T14:30", "note": "glowing"}
    answer = signed_in(person).post(at("spot_reading_add", firing.pk), told, follow=True)
    [reading] = firing.spot_readings.all()
    assert reading.temperature_c == pytest.approx(803.9, abs=0.1)
    assert reading.at == datetime(2026, 7, 1, 13, 30, tzinfo=UTC)
    assert (reading.note, reading.noted_by) == ("glowing", person)
    assert "Noted: 1479 °F." in plain(" ".join(str(each) for each in answer.context["messages"]))


def test_now_is_offered_while_it_runs_and_the_start_afterwards(
    artist: Person, signed_in: SignedIn
) -> None:
    running, over = make_firing(artist, state="firing"), fired(artist)
    forms = [
        signed_in(artist).get(at("spot_reading_add", each.pk)).context["form"]
        for each in (running, over)
    ]
    assert timezone.now() - forms[0].initial["at"] < timedelta(minutes=1)
    assert forms[1].initial["at"] == START


@pytest.mark.parametrize(
    ("told", "field", "says"),
    [
        ({"temperature_c": "hot"}, "temperature_c", "Enter a number"),
        ({"temperature_c": "1900"}, "temperature_c", "1400 °C"),
        ({"temperature_c": ""}, "temperature_c", "required"),
        ({"at": "2026-03-03T17:59"}, "at", "before this firing was started"),
        ({"at": "2026-03-04T10:01"}, "at", "after this kiln was opened"),
        ({"at": "soon"}, "at", "Write a day and a time"),
        ({"note": "x" * 201}, "note", "200"),
    ],
)
def test_what_cannot_be_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person, signed_in: SignedIn, told: dict[str, str], field: str, says: str
) -> None:
    firing = fired(artist)
    good = {"temperature_c": "512", "at": "2026-03-03T20:00", "note": "dull red"}
    page = signed_in(artist).post(at("spot_reading_add", firing.pk), good | told)
    form = page.context["form"]
    assert says in plain(" ".join(form.errors[field]))
    kept = {name: form[name].value() for name in good}
    assert kept == good | told
    assert not SpotReading.objects.exists()


def test_several_are_noted_one_after_another(artist: Person, signed_in: SignedIn) -> None:
    firing, browser = fired(artist), signed_in(artist)
    address = at("spot_reading_add", firing.pk)
    for hour, hot in ((19, "210"), (21, "560"), (22, "803")):
        told = {"temperature_c": hot, "at": f"2026-03-03T{hour}:00", "another": "yes"}
        answer = browser.post(address, told)
        assert answer.url == address
    page = browser.get(address)
    assert page.context["form"].initial["at"] == datetime(2026, 3, 3, 22, 0, tzinfo=UTC)
    shown = plain(" ".join(page.content.decode().split()))
    assert shown.index("Tue 19:00 · 210 °C") < shown.index("Tue 22:00 · 803 °C")


@pytest.mark.parametrize(("minutes", "told"), [((30, 60, 90), True), ((10, 20), True),
                                               ((10, 22, 35), False), ((), False)])  # fmt: skip
def test_readings_that_show_no_segment_are_said_to(
    artist: Person, signed_in: SignedIn, minutes: tuple[int, ...], told: bool
) -> None:
    firing = fired(artist)
    for each in minutes:
        noted(firing, each, 20.0 + 3.0 * each)
    page = signed_in(artist).get(at("firing_detail", firing.pk)).content.decode()
    assert (
        "to show the segments: that takes three or more, at most 15 min apart" in plain(page)
    ) is told


def test_a_moment_has_one_reading(artist: Person, signed_in: SignedIn) -> None:
    firing = fired(artist)
    noted(firing, 120)
    told = {"temperature_c": "512", "at": "2026-03-03T20:00"}
    page = signed_in(artist).post(at("spot_reading_add", firing.pk), told)
    assert "noted for that minute already" in page.content.decode()
    with pytest.raises(ValidationError):
        spot_reading_add(firing=firing, by=artist, at=START + timedelta(hours=2), temperature_c=5.0)
    elsewhere = fired(artist, revision=firing.revision)
    spot_reading_add(firing=elsewhere, by=artist, at=START + timedelta(hours=2), temperature_c=5.0)
    assert SpotReading.objects.count() == 2


def test_form_sent_twice_notes_one(artist: Person, signed_in: SignedIn) -> None:
    firing = fired(artist)
    told = {"temperature_c": "512", "at": "2026-03-03T20:00", "form_key": str(uuid4())}
    for _ in range(2):
        answer = signed_in(artist).post(at("spot_reading_add", firing.pk), told)
        assert answer.url == at("firing_detail", firing.pk)
    assert SpotReading.objects.count() == 1


def test_a_firing_that_was_not_started_has_no_readings(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    answer = signed_in(artist).get(at("spot_reading_add", firing.pk), follow=True)
    assert "has not been started" in plain(
        " ".join(str(each) for each in answer.context["messages"])
    )
    told = {"temperature_c": "512", "at": "2026-03-03T20:00"}
    signed_in(artist).post(at("spot_reading_add", firing.pk), told)
    assert not SpotReading.objects.exists()


def test_everybody_notes_while_it_runs_and_afterwards_its_own_people(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    running, over = make_firing(artist, state="firing"), fired(artist)
    address = at("spot_reading_add", over.pk)
    assert signed_in(student).get(at("spot_reading_add", running.pk)).status_code == 200
    assert signed_in(student).get(address).status_code == 403
    assert signed_in(instructor).get(address).status_code == 200
    assert signed_in(artist).delete(address).status_code == 405
    assert signed_in(artist).get(at("spot_reading_add", 999)).status_code == 404


def test_outsider_is_led_to_sign_in(artist: Person, outsider: Client) -> None:
    reading = noted(fired(artist), 60)
    for address in (
        at("spot_reading_add", reading.firing_id),
        at("spot_reading_remove", reading.pk),
    ):
        assert outsider.post(address).url.startswith(reverse("studio:sign_in"))
    assert SpotReading.objects.exists()


def test_reading_is_taken_back_by_its_noter_or_whose_firing_it_is(
    artist: Person, student: Person, keeper: Person, signed_in: SignedIn
) -> None:
    firing = fired(artist)
    first, second = noted(firing, 60), noted(firing, 120)
    third = SpotReading.objects.create(
        firing=firing, at=START + timedelta(hours=3), temperature_c=700, noted_by=student
    )
    browser = signed_in(student)
    assert browser.post(at("spot_reading_remove", first.pk)).status_code == 403
    assert browser.get(at("spot_reading_remove", third.pk)).status_code == 405
    assert browser.post(at("spot_reading_remove", third.pk)).status_code == 302
    assert signed_in(keeper).post(at("spot_reading_remove", second.pk)).status_code == 302
    assert list(firing.spot_readings.all()) == [first]
