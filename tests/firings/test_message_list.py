"""People are told of firings that run: once, by the way that they chose."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core import mail
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions import telling
from firings.actions.telling import messages_tell, wish_keep
from firings.core_inputs import keyed_curve
from firings.models import Firing, Message, RunawayAlarm, SpotReading
from firings.services.top import find_top
from firings.wording import message_words
from studio.models import Person, Studio
from tests.factories import make_firing, make_kiln, make_learnt_response, make_person

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


def running(person: Person, since: timedelta, **facts: Any) -> Firing:
    kiln = facts.pop("kiln", None) or make_kiln()
    return make_firing(
        person, kiln=kiln, state="firing", started_at=timezone.now() - since, **facts
    )


def near_its_top(person: Person, **facts: Any) -> Firing:
    """Ten minutes before it."""
    firing = running(person, timedelta(hours=1), **facts)
    curve = keyed_curve(Firing.objects.prefetch_related("revision__segments").get(pk=firing.pk))
    top = find_top(curve.segments)
    reached = curve.spans[top.index].hold_start
    firing.started_at = timezone.now() - timedelta(seconds=reached - 600)
    firing.save()
    return firing


def told(person: Person) -> list[str]:
    return list(Message.objects.filter(person=person).values_list("kind", flat=True))


def test_the_top_is_told_once_to_whoever_fires(artist: Person, signed_in: SignIn) -> None:
    near_its_top(artist, title="Tide blank")
    assert len(messages_tell()) == 1
    assert messages_tell() == []
    page = signed_in(artist).get("/")
    assert "Heron: the top is near" in page.text
    assert "The top, 804 °C, is reached at" in page.text
    assert mail.outbox == []


def test_seen_is_seen(artist: Person, signed_in: SignIn) -> None:
    near_its_top(artist)
    messages_tell()
    client, message = signed_in(artist), Message.objects.get()
    page = client.post(reverse("firings:messages_seen"), {"message": [message.pk]}, follow=True)
    assert "the top is near" not in page.text
    assert "the top is near" in client.get(reverse("firings:message_list")).text


def test_nobody_marks_what_another_was_told(artist: Person, signed_in: SignIn) -> None:
    near_its_top(artist)
    messages_tell()
    other = signed_in(make_person("wilf"))
    other.post(reverse("firings:messages_seen"), {"message": [Message.objects.get().pk, "x"]})
    assert Message.objects.get().seen_at is None


def test_cool_enough_is_told_and_opening_ends_it(artist: Person, signed_in: SignIn) -> None:
    firing = running(artist, timedelta(hours=1))
    curve = keyed_curve(Firing.objects.prefetch_related("revision__segments").get(pk=firing.pk))
    cool = curve.cool_to(60.0)
    assert cool is not None
    firing.started_at = timezone.now() - timedelta(seconds=cool + 60)
    firing.save()
    messages_tell()
    assert told(artist) == ["cool_enough"]
    assert "Read the display before you open." in signed_in(artist).get("/").text
    firing.state, firing.opened_at = "opened", timezone.now()
    firing.save()
    assert "Read the display before you open." not in signed_in(artist).get("/").text


def test_a_kiln_that_falls_behind_is_told(artist: Person) -> None:
    kiln = make_kiln()
    make_learnt_response(kiln)
    firing = running(artist, timedelta(hours=5), kiln=kiln)
    start: datetime = firing.started_at or timezone.now()
    for hours, shown in ((2.0, 300.0), (3.0, 360.0), (4.9, 410.0)):
        SpotReading.objects.create(
            firing=firing, at=start + timedelta(hours=hours), temperature_c=shown, noted_by=artist
        )
    messages_tell()
    assert told(artist) == ["falls_behind"]


@pytest.mark.parametrize("way", ["not", "page", "mail"])
def test_each_chooses_by_which_way(
    way: str,
    artist: Person,
    signed_in: SignIn,
    settings: Any,
    django_capture_on_commit_callbacks: Any,
) -> None:
    settings.SITE_ADDRESS = "https://studio.example"
    artist.email = "inka@millrace.example"
    artist.save()
    given = {"peak_near": way, "falls_behind": "page", "cool_enough": "page", "comments": "never"}
    given["to_judge"] = "page"
    answer = signed_in(artist).post(reverse("firings:message_wishes"), given)
    assert answer.status_code == 302, answer.text
    firing = near_its_top(artist)
    with django_capture_on_commit_callbacks(execute=True):
        messages_tell()
    assert told(artist) == ([] if way == "not" else ["peak_near"])
    assert len(mail.outbox) == (way == "mail")
    if way == "mail":
        live = reverse("firings:firing_now", args=[firing.pk])
        assert mail.outbox[0].to == ["inka@millrace.example"]
        assert f"https://studio.example{live}" in mail.outbox[0].body


def test_others_are_told_of_it_only_if_they_want(artist: Person, keeper: Person) -> None:
    near_its_top(artist)
    messages_tell()
    assert told(keeper) == []
    wish_keep(person=keeper, of_everybody=True)
    messages_tell()
    assert told(keeper) == ["peak_near"]


def test_a_runaway_is_mailed_to_all_who_may_act_whatever_they_chose(
    artist: Person, keeper: Person, student: Person, django_capture_on_commit_callbacks: Any
) -> None:
    for person in (artist, keeper, student):
        person.email = f"{person.sign_in_name}@millrace.example"
        person.save()
        wish_keep(person=person, peak_near="not", falls_behind="not", cool_enough="not")
    firing = running(artist, timedelta(hours=6))
    start: datetime = firing.started_at or timezone.now()
    with django_capture_on_commit_callbacks(execute=True):
        for minutes, shown in ((340, 840.0), (350, 860.0)):
            SpotReading.objects.create(
                firing=firing,
                at=start + timedelta(minutes=minutes),
                temperature_c=shown,
                noted_by=artist,
            )
    assert RunawayAlarm.objects.count() == 1
    assert sorted(each.to[0] for each in mail.outbox) == [
        "inka@millrace.example",
        "mads@millrace.example",
    ]
    assert "isolator" in mail.outbox[0].body


def test_the_command_looks_once(artist: Person, capsys: pytest.CaptureFixture[str]) -> None:
    near_its_top(artist)
    call_command("messages", once=True)
    assert "1 told." in capsys.readouterr().out


def test_times_are_the_studios(artist: Person, settings: Any) -> None:
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Asia/Kolkata"})
    artist.email = "inka@millrace.example"
    artist.save()
    wish_keep(person=artist, peak_near="mail")
    near_its_top(artist)
    (message,) = messages_tell()
    there = timezone.localtime(message.about_at, timezone.get_fixed_timezone(330))
    with timezone.override("Asia/Kolkata"):
        assert f"{there:%H:%M}" in message_words(message, "C")


def test_a_fault_in_one_firing_keeps_nothing_from_the_others(
    artist: Person, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    broken = near_its_top(artist, kiln=make_kiln("Heron"))
    near_its_top(artist, kiln=make_kiln("Wren"))
    look = telling.firing_now

    def break_one(firing: Firing, *rest: Any) -> Any:
        if firing.pk == broken.pk:
            raise ArithmeticError("no curve")
        return look(firing, *rest)

    monkeypatch.setattr(telling, "firing_now", break_one)
    assert [message.firing.kiln.name for message in messages_tell()] == ["Wren"]
    assert f"Could not tell of firing {broken.pk}." in caplog.text
