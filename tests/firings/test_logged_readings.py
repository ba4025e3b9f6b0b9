"""What loggers sent: followed while the kiln fires, packed with its firing once it is opened."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions.logged_readings import logged_readings_pack
from firings.actions.record import firing_change, firing_open
from firings.actions.recording import recording_take_back
from firings.actions.spot_readings import spot_reading_add
from firings.core_inputs import keyed_curve, recording_of
from firings.models import Firing, LoggedReading, LoggedSeries, RecordingSeries, RunawayAlarm
from firings.queries.logged_readings import logged_so_far
from firings.queries.watching import firings_now, version_of
from studio.models import Kiln, Person
from tests.factories import make_firing, make_kiln, make_revision, make_schedule
from tests.firings.logger_files import recorded
from tests.firings.sending import Logger, Reading

HOUR = timedelta(hours=1)


@pytest.fixture
def now() -> datetime:
    return timezone.now().replace(microsecond=0)


@pytest.fixture
def firing(artist: Person, now: datetime) -> Firing:
    return make_firing(artist, state="firing", started_at=now - 2 * HOUR)


@pytest.fixture
def logger(firing: Firing, keeper: Person) -> Logger:
    return Logger(firing.kiln, keeper)


def as_planned(firing: Firing, *, every_s: float = 30.0, until: datetime) -> list[Reading]:
    """What the display shows of a kiln that does what is asked, to the tenth."""
    assert firing.started_at is not None
    curve = keyed_curve(firing)
    steps = int((until - firing.started_at).total_seconds() // every_s)
    return [
        (
            firing.started_at + timedelta(seconds=step * every_s),
            round(float(curve.at(step * every_s)), 1),
        )
        for step in range(steps + 1)
    ]


def opened(firing: Firing, at: datetime) -> Firing:
    return firing_open(firing=firing, opened_by=firing.fired_by, opened_at=at)


def test_the_live_page_follows(
    firing: Firing, logger: Logger, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser, address = signed_in(artist), reverse("firings:firing_now", args=[firing.pk])
    tag = browser.get(address, headers={"HX-Request": "true"})["ETag"]

    logger.send(*as_planned(firing, until=timezone.now()))

    told = browser.get(address, headers={"HX-Request": "true", "If-None-Match": tag})
    assert told.status_code == 200
    assert "From the logger: " in told.content.decode()
    assert "Take it back" not in told.content.decode()
    assert "320 °C at" in told.content.decode()
    again = browser.get(address, headers={"HX-Request": "true", "If-None-Match": told["ETag"]})
    assert again.status_code == 304


def test_one_reading_in_five_minutes_is_watched_and_the_last(
    firing: Firing, logger: Logger
) -> None:
    sent = as_planned(firing, every_s=10.0, until=timezone.now())
    logger.send(*reversed(sent))

    watched = logged_so_far([firing])[firing.pk]

    assert watched[-1].at == sent[-1][0]
    assert len({each.five_minutes for each in watched}) == len(watched)
    assert 24 <= len(watched) <= 26


def test_what_came_before_the_start_is_not_of_it(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    logger.send((now - 3 * HOUR, 21.0))

    assert logged_so_far([firing])[firing.pk] == []


def test_queries_do_not_grow_with_the_kilns_that_fire(
    firing: Firing,
    logger: Logger,
    keeper: Person,
    now: datetime,
    django_assert_num_queries: Any,
) -> None:
    logger.send((now, 320.0))
    with django_assert_num_queries(6):
        assert len(firings_now(now)) == 1
    for name in ("Ibis", "Knot"):
        kiln = make_kiln(name)
        make_firing(firing.fired_by, kiln=kiln, revision=firing.revision, state="firing")
        Logger(kiln, keeper).send((now, 500.0))
    with django_assert_num_queries(6):
        assert [fire.readings[-1].temperature_c for fire in firings_now(now)] == [320, 500, 500]


def test_a_runaway_is_raised_by_what_is_sent_and_stands(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    logger.send(*as_planned(firing, until=now - timedelta(minutes=20)))
    assert not RunawayAlarm.objects.exists()

    logger.send((now - timedelta(minutes=1), 845.0))
    alarm = RunawayAlarm.objects.get()
    logger.send((now, 847.0))

    alarm.refresh_from_db()
    assert (alarm.shown_c, alarm.answered_at) == (847.0, None)
    logger.send((now - timedelta(seconds=30), 846.0))  # late, and thinned away
    assert RunawayAlarm.objects.get().shown_c == 847.0


def test_opened_it_has_all_readings_and_the_rows_are_gone(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    sent = as_planned(firing, until=now)
    logger.send(*sent[::2])
    logger.send(*sent[1::2])
    logger.send((now - 3 * HOUR, 20.5))

    opened(firing, now)

    series = RecordingSeries.objects.get(pk=firing.pk)
    assert (series.count, series.started_at) == (len(sent), firing.started_at)
    recording = recording_of(Firing.objects.get(pk=firing.pk))
    assert recording.temperatures.tolist() == [celsius for _, celsius in sent]
    assert [each.temperature_c for each in LoggedReading.objects.all()] == [20.5]


@pytest.mark.parametrize("count", [1, 2, 3])
def test_few_readings_are_a_recording_too(
    firing: Firing, logger: Logger, now: datetime, count: int
) -> None:
    logger.send(*as_planned(firing, until=now)[:count])

    opened(firing, now)

    assert RecordingSeries.objects.get(pk=firing.pk).count == count


def test_packed_readings_are_known_when_they_are_sent_again(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    sent = [(at.replace(microsecond=123_000), value) for at, value in as_planned(firing, until=now)]
    logger.send(*sent[:-1])
    opened(firing, now)

    told = logger.send(*sent[5:10], (sent[20][0], 999.0))

    assert (told["accepted"], told["known"]) == (0, 5)
    assert [each["reason"] for each in told["refused"]] == ["conflict"]


def test_what_comes_after_the_opening_is_added(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    sent = as_planned(firing, until=now)
    logger.send(*sent[:100])
    opened(firing, now)

    assert logger.send(*sent[90:])["known"] == 10
    assert RecordingSeries.objects.get(pk=firing.pk).count == len(sent)
    assert not LoggedReading.objects.exists()


def test_a_firing_written_down_afterwards_claims_what_waited(
    kiln_alone: Kiln, artist: Person, keeper: Person, now: datetime
) -> None:
    logger = Logger(kiln_alone, keeper)
    logger.send(*((now - 5 * HOUR + timedelta(minutes=each), 500.0) for each in range(30)))

    firing = make_firing(
        artist, state="opened", started_at=now - 6 * HOUR, opened_at=now - 4 * HOUR
    )

    assert RecordingSeries.objects.get(pk=firing.pk).count == 30
    assert not LoggedReading.objects.exists()


@pytest.fixture
def kiln_alone(db: None) -> Kiln:
    return make_kiln()


def test_times_put_right_claim_more(firing: Firing, logger: Logger, now: datetime) -> None:
    sent = as_planned(firing, until=now)
    logger.send(*sent)
    half_way = sent[120][0]
    firing = opened(firing, half_way)
    assert RecordingSeries.objects.get(pk=firing.pk).count == 121

    firing_change(firing=firing, changes={"opened_at": now})

    assert RecordingSeries.objects.get(pk=firing.pk).count == len(sent)


def test_of_another_kiln_the_readings_go_back(
    firing: Firing, logger: Logger, keeper: Person, now: datetime
) -> None:
    """It was written down in the wrong kiln: each kiln's readings are its own."""
    sent = as_planned(firing, until=now)
    logger.send(*sent)
    other = make_kiln("Ibis")
    Logger(other, keeper).send((now - HOUR, 400.0), (now - HOUR / 2, 450.0))
    firing = opened(firing, now)

    firing_change(firing=firing, changes={"kiln": other})

    logged = LoggedSeries.objects.get()
    assert (logged.kiln_id, logged.count) == (other.pk, 2)
    assert RecordingSeries.objects.get(pk=firing.pk).count == 2
    assert LoggedReading.objects.filter(kiln=logger.kiln).count() == len(sent)


def test_of_another_kiln_without_a_logger_nothing_is_recorded(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    logger.send(*as_planned(firing, until=now))
    firing = opened(firing, now)

    firing_change(firing=firing, changes={"kiln": make_kiln("Ibis")})

    assert not RecordingSeries.objects.exists()
    assert not LoggedSeries.objects.exists()


def test_a_file_counts_and_what_was_sent_fills_it(
    firing: Firing, logger: Logger, artist: Person, now: datetime
) -> None:
    """And stays where the file is taken back."""
    sent = as_planned(firing, until=now)
    logger.send(*((at, value + 3.0) for at, value in sent))
    opened(firing, now)
    file = recorded(firing, by=artist, until_s=3600.0)

    series = RecordingSeries.objects.get(pk=firing.pk)
    recording = recording_of(Firing.objects.get(pk=firing.pk))
    codes = [remark.code for remark in recording.remarks]
    assert "sent_readings_added" in codes
    assert recording.times[-1] == pytest.approx((now - firing.started_at).total_seconds(), abs=90)
    assert series.count == recording.times.size

    recording_take_back(file=file)

    assert RecordingSeries.objects.get(pk=firing.pk).count == len(sent)


def test_the_firing_page_shows_what_came_so_far(
    firing: Firing, logger: Logger, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    logger.send(*as_planned(firing, until=timezone.now()))
    browser = signed_in(artist)

    page = browser.get(reverse("firings:firing_detail", args=[firing.pk])).content.decode()
    csv = browser.get(reverse("firings:recording_csv", args=[firing.pk]))

    assert "241 readings sent by a logger so far" in page
    assert 'class="recorded"' in page
    assert "not come to" not in page, "a firing that is not over missed nothing"
    assert "can’t have come of this plan" not in page
    assert b"".join(csv.streaming_content).count(b"\n") > 20


def test_noted_by_hand_stands_beside_what_was_sent(
    firing: Firing, logger: Logger, now: datetime
) -> None:
    logger.send((now - timedelta(minutes=10), 300.0))
    spot_reading_add(firing=firing, by=firing.fired_by, at=now, temperature_c=318.0)

    assert [each.temperature_c for each in firings_now(now)[0].readings] == [300.0, 318.0]


def test_nothing_is_packed_twice(firing: Firing, logger: Logger, now: datetime) -> None:
    logger.send(*as_planned(firing, until=now))
    firing = opened(firing, now)
    packed = bytes(LoggedSeries.objects.get().packed)

    logged_readings_pack(firing=firing)

    assert bytes(LoggedSeries.objects.get().packed) == packed


def test_the_version_is_of_one_firing_alone(
    firing: Firing, keeper: Person, artist: Person, now: datetime
) -> None:
    before = version_of(artist, firing.pk)
    other = make_kiln("Ibis")
    make_firing(artist, kiln=other, revision=make_revision(make_schedule(artist)), state="firing")
    Logger(other, keeper).send((now, 500.0))

    assert version_of(artist, firing.pk) == before
