"""The live page: right by its plan, moved by readings, cheap to poll, and loud when it must be."""

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django import Settings

from firings.core_inputs import keyed_curve
from firings.models import Firing, FiringEvent, RunawayAlarm, SpotReading
from firings.queries.watching import firing_now
from studio.models import Person
from tests.factories import make_firing, make_kiln, make_learnt_response, make_person

SignedIn = Callable[[Person], Client]
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
POLLED = {"HX-Request": "true"}


@pytest.fixture
def firing(artist: Person) -> Firing:
    return make_firing(artist, state="firing", started_at=START)


@pytest.fixture
def client(artist: Person, signed_in: SignedIn) -> Client:
    return signed_in(artist)


def page_of(firing: Firing) -> str:
    return reverse("firings:firing_now", args=[firing.pk])


def after(hours: float) -> time_machine.travel:
    return time_machine.travel(START + timedelta(hours=hours), tick=False)


def noted(firing: Firing, hours: float, temperature_c: float) -> SpotReading:
    return SpotReading.objects.create(
        firing=firing,
        at=START + timedelta(hours=hours),
        temperature_c=temperature_c,
        noted_by=firing.fired_by,
    )


def top_h(firing: Firing) -> float:
    """Hours after which the top is reached."""
    return keyed_curve(firing).spans[2].hold_start / 3600


def test_it_says_what_the_display_ought_to_show(client: Client, firing: Firing) -> None:
    with after(2.0):
        text = client.get(page_of(firing)).text
    assert "320 °C" in text  # 150 °C/h from 20 °C
    assert "Segment 1: Up at 150 °C/h to 540 °C" in text
    assert "Down as fast as it cools, to 4" in text  # full power, downwards
    assert 'Left in it</dt><dd data-part="left">1 h 28' in text
    assert "Tue 11:28" in text  # (540 − 20) / 150 h after 8:00


def test_times_are_the_studios_and_units_the_readers(
    client: Client, firing: Firing, artist: Person
) -> None:
    artist.unit = "F"
    artist.save()
    with after(2.0):
        text = client.get(page_of(firing)).text
    assert "608 °F" in text
    assert "Up at 270 °F/h to 1004 °F" in text


def test_script_gets_the_whole_curve(client: Client, firing: Firing) -> None:
    with after(2.0):
        told = json.loads(client.get(page_of(firing)).context["fire"].data)
    assert told["start"] == START.timestamp()
    assert told["pieces"][0][:4] == [0, 12480, 20, 540]
    assert [each[0] for each in told["due"]] == [
        "top_reached", "top_ends", "segments_done", "cool_enough",
    ]  # fmt: skip


def test_a_reading_is_noted_and_judged_at_once(client: Client, firing: Firing) -> None:
    make_learnt_response(firing.kiln)
    with after(4.0):
        answer = client.post(page_of(firing), {"temperature_c": "565"}, follow=True)
    [reading] = firing.spot_readings.all()
    assert (reading.temperature_c, reading.at) == (565.0, START + timedelta(hours=4))
    assert "565 °C at 12:00." in answer.text
    assert answer.context["fire"].standing.code in ("falling_behind", "behind", "behind_usual")


def test_all_that_comes_moves_with_a_reading(client: Client, firing: Firing) -> None:
    with after(2.0):
        before = client.get(page_of(firing)).context["fire"]
        noted(firing, 2.0, 245.0)  # due after 1.5 h
        seen = client.get(page_of(firing))
    assert "+30 min on the plan" in seen.text
    fire = seen.context["fire"]
    assert fire.expected_c == pytest.approx(245.0)
    assert fire.peak_at - before.peak_at == timedelta(minutes=30)
    assert fire.opening.at - before.opening.at == timedelta(minutes=30)


@pytest.mark.parametrize(
    ("typed", "says"), [("hot", "Enter a number"), ("1900", "1400 °C"), ("", "required")]
)
def test_a_wrong_reading_is_told_at_its_field(
    client: Client, firing: Firing, typed: str, says: str
) -> None:
    with after(2.0):
        answer = client.post(page_of(firing), {"temperature_c": typed})
    assert answer.context["form"].errors["temperature_c"]
    assert says in answer.text
    assert f'value="{typed}"' in answer.text or not typed
    assert not firing.spot_readings.exists()


def test_a_reading_from_without_network_keeps_its_time(client: Client, firing: Firing) -> None:
    with after(3.0):
        told = {"temperature_c": "200", "noted_at": "2026-03-03T09:10:05+00:00"}
        client.post(page_of(firing), told)
        early = client.post(page_of(firing), told | {"noted_at": "2026-03-03T07:00:00+00:00"})
    assert firing.spot_readings.get().at == datetime(2026, 3, 3, 9, 10, 5, tzinfo=UTC)
    assert "before this firing was started" in early.text


def test_sent_twice_it_is_noted_once(client: Client, firing: Firing) -> None:
    told = {"temperature_c": "300", "form_key": "5f0c4c3e-8c39-4a17-b51f-0b7e6a9d1b55"}
    with after(2.0):
        for _ in range(2):
            assert client.post(page_of(firing), told).status_code == 302
    assert firing.spot_readings.count() == 1


def test_what_no_longer_fires_leads_to_its_record(
    client: Client, firing: Firing, artist: Person
) -> None:
    opened = make_firing(artist, kiln=make_kiln("Wren"), state="opened")
    record = reverse("firings:firing_detail", args=[opened.pk])
    assert client.get(page_of(opened)).headers["Location"] == record
    polled = client.get(page_of(opened), headers=POLLED)
    assert polled.headers["HX-Redirect"] == record
    assert client.get(reverse("firings:firing_now", args=[999])).status_code == 404


def test_unchanged_is_told_in_a_word_and_by_few_queries(
    client: Client, firing: Firing, django_assert_max_num_queries: Callable
) -> None:
    with after(2.0):
        first = client.get(page_of(firing), headers=POLLED)
    assert "<html" not in first.text
    assert 'id="now"' in first.text
    known = POLLED | {"If-None-Match": first.headers["ETag"]}
    with after(3.0), django_assert_max_num_queries(4):  # session, person, studio, and what changed
        again = client.get(page_of(firing), headers=known)
    assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize("what", ["reading", "taken back", "event", "unit", "alarm"])
def test_whatever_changes_the_page_is_sent(
    client: Client, firing: Firing, artist: Person, what: str
) -> None:
    reading = noted(firing, 1.0, 170.0)
    with after(2.0):
        tag = client.get(page_of(firing), headers=POLLED).headers["ETag"]
        if what == "reading":
            noted(firing, 1.5, 240.0)
        elif what == "taken back":
            reading.delete()
        elif what == "event":
            FiringEvent.objects.create(firing=firing, kind="stopped_early", noted_by=artist)
        elif what == "unit":
            artist.unit = "F"
            artist.save()
        else:
            RunawayAlarm.objects.create(
                firing=firing, shown_at=START, shown_c=900.0, ceiling_c=804.0
            )
        answer = client.get(page_of(firing), headers=POLLED | {"If-None-Match": tag})
    assert answer.status_code == 200


def test_an_update_is_under_three_kilobytes(client: Client, firing: Firing) -> None:
    make_learnt_response(firing.kiln)
    noted(firing, 1.0, 160.0)
    with after(2.0):
        size = len(client.get(page_of(firing), headers=POLLED).content)
    assert 1000 < size < 3072


def test_queries_stay_as_readings_and_kilns_come(
    client: Client, firing: Firing, artist: Person, django_assert_num_queries: Callable
) -> None:
    noted(firing, 0.2, 50.0)
    address = reverse("firings:kilns_now")
    with after(2.0):
        client.get(address)
        with CaptureQueriesContext(connection) as before:
            client.get(address)
        for number in range(4):
            other = make_firing(
                artist,
                kiln=make_kiln(f"Kiln {number}"),
                revision=firing.revision,
                state="firing",
                started_at=START,
            )
            noted(other, 1.0, 170.0)
        with django_assert_num_queries(len(before)):
            text = client.get(address).text
    assert text.count("data-fire") == 5


def test_went_on_early_and_stopped_early_are_followed(
    client: Client, firing: Firing, artist: Person
) -> None:
    curve = keyed_curve(firing)
    hold = curve.spans[1]
    FiringEvent.objects.create(
        firing=firing,
        kind="went_on_early",
        happened_at=START + timedelta(seconds=hold.hold_end - 900),
        noted_by=artist,
    )
    moment = START + timedelta(seconds=hold.hold_end)
    firing.refresh_from_db()
    assert firing_now(firing, moment).watch.delay == pytest.approx(-900.0, abs=0.01)
    FiringEvent.objects.create(
        firing=firing, kind="stopped_early", happened_at=moment, noted_by=artist
    )
    fire = firing_now(Firing.objects.get(pk=firing.pk), moment + timedelta(hours=1))
    assert fire.watch.stopped
    assert fire.expected_c is not None
    assert fire.expected_c < 640.0


# The runaway


def run_away(firing: Firing) -> None:
    top = top_h(firing)
    noted(firing, top + 0.02, 806.0)
    noted(firing, top + 0.1, 829.0)


def test_a_runaway_stands_on_every_page_of_everybody(firing: Firing, signed_in: SignedIn) -> None:
    run_away(firing)
    student = signed_in(make_person("lou", role="student"))
    for name in ("firings:logbook", "studio:kiln_list", "firings:today"):
        text = " ".join(student.get(reverse(name)).text.split())
        assert "Heron is running away." in text
        assert "Switch it off at the isolator or the plug. Don’t open it." in text
    with after(top_h(firing) + 0.11):
        page = student.get(page_of(firing)).text
    assert "ahead of plan" not in page
    alarm = RunawayAlarm.objects.get()
    assert (alarm.shown_c, alarm.ceiling_c) == (829.0, 804.0)


def test_outsider_sees_no_alarm(firing: Firing, outsider: Client) -> None:
    run_away(firing)
    assert "running away" not in outsider.get(reverse("studio:sign_in")).text


def test_a_refused_host_still_gets_its_page(db: None, outsider: Client, settings: Settings) -> None:
    """It is answered before anybody is known to be signed in."""
    settings.ALLOWED_HOSTS = ["127.0.0.1"]
    assert outsider.get("/", headers={"host": "elsewhere.example"}).status_code == 400


def test_switched_off_it_is_answered_and_noted_as_stopped(
    client: Client, firing: Firing, artist: Person
) -> None:
    run_away(firing)
    alarm = RunawayAlarm.objects.get()
    address = reverse("firings:runaway_answer", args=[alarm.pk])
    assert client.post(address, {"answer": "so what"}).status_code == 302
    assert RunawayAlarm.objects.get().answered_at is None
    for _ in range(2):
        client.post(address, {"answer": "switched_off"})
    alarm.refresh_from_db()
    assert (alarm.answer, alarm.answered_by) == ("switched_off", artist)
    assert [event.kind for event in firing.events.all()] == ["stopped_early"]
    assert "is running away" not in client.get(reverse("firings:logbook")).text


def test_a_misread_display_is_answered_and_a_new_climb_tells_again(
    client: Client, firing: Firing
) -> None:
    run_away(firing)
    alarm = RunawayAlarm.objects.get()
    client.post(reverse("firings:runaway_answer", args=[alarm.pk]), {"answer": "misread"})
    assert not firing.events.exists()
    noted(firing, top_h(firing) + 0.13, 840.0)
    assert RunawayAlarm.objects.filter(answered_at=None).get().shown_c == 840.0


def test_a_reading_taken_back_takes_its_alarm_along(firing: Firing) -> None:
    run_away(firing)
    firing.spot_readings.latest("at").delete()
    assert not RunawayAlarm.objects.exists()


def test_a_fall_after_it_does_not_silence_it(firing: Firing) -> None:
    run_away(firing)
    noted(firing, top_h(firing) + 0.2, 700.0)
    assert RunawayAlarm.objects.filter(answered_at=None).count() == 1


def test_a_usual_reading_raises_nothing(firing: Firing) -> None:
    noted(firing, top_h(firing) + 0.02, 806.0)
    noted(firing, top_h(firing) + 0.1, 810.0)
    assert not RunawayAlarm.objects.exists()
