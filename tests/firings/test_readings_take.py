"""The address to which loggers send: what is kept, what is refused, and how that is said."""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions import logged_readings
from firings.actions.logger import logger_token_take_back
from firings.models import LoggedReading
from studio.models import Kiln, Person
from tests.factories import make_firing, make_kiln
from tests.firings.sending import Logger, batch_of


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def logger(kiln: Kiln, keeper: Person) -> Logger:
    return Logger(kiln, keeper)


def moments(count: int, every_s: float = 60.0) -> list[datetime]:
    """The last of them is now, to the second."""
    now = timezone.now().replace(microsecond=0)
    return [now - timedelta(seconds=every_s * back) for back in reversed(range(count))]


def kept(kiln: Kiln) -> list[tuple[datetime, float]]:
    return list(kiln.logged_readings.order_by("at").values_list("at", "temperature_c"))


def test_readings_are_kept_in_the_order_of_time(logger: Logger) -> None:
    first, second, third = moments(3)

    told = logger.send((third, 803.5), (first, 801.0), (second, 802.25))

    assert told == {"accepted": 3, "known": 0, "refused": []}
    assert kept(logger.kiln) == [(first, 801.0), (second, 802.25), (third, 803.5)]
    logger.token.refresh_from_db()
    assert logger.token.last_seen_at is not None


def test_sent_again_it_is_known_and_kept_once(logger: Logger) -> None:
    first, second = moments(2)
    logger.send((first, 801.0))

    told = logger.send((first, 801.0), (second, 802.0), (second, 802.0))

    assert told == {"accepted": 1, "known": 2, "refused": []}
    assert len(kept(logger.kiln)) == 2


def test_another_temperature_for_a_known_time_changes_nothing(logger: Logger) -> None:
    (now,) = moments(1)
    logger.send((now, 500.0))

    told = logger.send((now, 932.5), unit="F")

    conflict = {"index": 0, "reason": "conflict", "known": 932.0}
    assert told == {"accepted": 0, "known": 0, "refused": [conflict]}
    assert kept(logger.kiln) == [(now, 500.0)]


def test_fahrenheit_is_kept_in_celsius_and_known_again(logger: Logger) -> None:
    (now,) = moments(1)

    assert logger.send((now, 1479.2), unit="F")["accepted"] == 1
    assert logger.send((now, 1479.2), unit="F")["known"] == 1
    assert kept(logger.kiln) == [(now, 804.0)]


def test_a_moment_is_the_same_in_any_zone_and_to_the_millisecond(logger: Logger) -> None:
    day = timezone.now().date()
    written = [f"{day}T00:00:01.5004Z", f"{day}T02:00:01.500+02:00", f"{day}t00:00:01.5009z"]
    body = {"unit": "C", "readings": [{"at": each, "temperature": 20} for each in written]}

    assert logger.post(body).json() == {"accepted": 1, "known": 2, "refused": []}


@pytest.mark.parametrize(
    ("reading", "reason"),
    [
        ("803", "not_a_reading"),
        ({"temperature": 803.0}, "time_not_understood"),
        ({"at": "2026-03-08T18:30:00", "temperature": 803.0}, "time_not_understood"),
        ({"at": "noon", "temperature": 803.0}, "time_not_understood"),
        ({"at": "2026-02-30T18:30:00Z", "temperature": 803.0}, "time_not_understood"),
        ({"at": "0001-01-01T00:00:00+14:00", "temperature": 803.0}, "time_not_understood"),
        ({"at": 1773000000, "temperature": 803.0}, "time_not_understood"),
        ({"at": "1970-01-01T00:00:00Z", "temperature": 803.0}, "time_too_long_ago"),
        ({"at": "2199-01-01T00:00:00Z", "temperature": 803.0}, "time_in_the_future"),
        ({"at": "NOW"}, "temperature_not_understood"),
        ({"at": "NOW", "temperature": "803"}, "temperature_not_understood"),
        ({"at": "NOW", "temperature": True}, "temperature_not_understood"),
        ({"at": "NOW", "temperature": -21}, "temperature_out_of_range"),
        ({"at": "NOW", "temperature": 1400.01}, "temperature_out_of_range"),
        ({"at": "NOW", "temperature": 10**400}, "temperature_out_of_range"),
    ],
)
def test_a_bad_reading_is_refused_with_its_reason(
    logger: Logger, reading: Any, reason: str
) -> None:
    """And the good one beside it is kept."""
    (now,) = moments(1)
    if isinstance(reading, dict) and reading.get("at") == "NOW":
        reading["at"] = (now - timedelta(minutes=5)).isoformat()

    batch = batch_of([(now, 700.0)]) | {
        "readings": [reading, *batch_of([(now, 700.0)])["readings"]]
    }
    told = logger.post(batch).json()

    assert told == {"accepted": 1, "known": 0, "refused": [{"index": 0, "reason": reason}]}
    assert kept(logger.kiln) == [(now, 700.0)]


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ("{", "not_json"),
        (b"\xff\xfe", "not_json"),
        ("[" * 100_000, "not_json"),
        ('{"unit": "C", "readings": [{"at": "x", "temperature": NaN}]}', "not_json"),
        ("[]", "not_an_object"),
        ({"readings": [{}]}, "unit_missing"),
        ({"unit": "K", "readings": [{}]}, "unit_missing"),
        ({"unit": ["C"], "readings": [{}]}, "unit_missing"),
        ({"unit": "C"}, "readings_missing"),
        ({"unit": "C", "readings": []}, "readings_missing"),
        ({"unit": "C", "readings": {"at": 1}}, "readings_missing"),
        ({"unit": "C", "readings": [0] * 1001}, "too_many_readings"),
    ],
)
def test_what_is_no_batch_is_refused_whole(logger: Logger, body: Any, code: str) -> None:
    answer = logger.post(body)

    assert answer.status_code == 422
    assert answer["Content-Type"] == "application/json"
    assert answer.json()["error"] == code


def test_a_thousand_readings_are_one_batch(logger: Logger) -> None:
    told = logger.send(*((at, 500.0) for at in moments(1000, 10.0)))

    assert told["accepted"] == len(kept(logger.kiln)) == 1000


@pytest.mark.parametrize("given", ["", "1", "x.y", "1.", "9" * 30 + ".x", "1.wrong", "¹.x"])
def test_without_a_token_of_ours_nothing_is_taken(logger: Logger, given: str) -> None:
    answer = logger.post(
        batch_of([(moments(1)[0], 500.0)]), given=given.replace("1", str(logger.token.pk))
    )

    assert (answer.status_code, answer.json()["error"]) == (401, "no_token")
    assert answer["WWW-Authenticate"] == "Bearer"
    assert kept(logger.kiln) == []


def test_a_token_that_was_taken_back_is_none(logger: Logger) -> None:
    logger_token_take_back(token=logger.token)

    assert logger.post(batch_of([(moments(1)[0], 500.0)])).status_code == 401


def test_a_token_is_for_one_kiln(logger: Logger, keeper: Person) -> None:
    other = Logger(make_kiln("Ibis"), keeper)

    answer = logger.post(batch_of([(moments(1)[0], 500.0)]), given=other.given)

    assert (answer.status_code, answer.json()["error"]) == (403, "other_kiln")
    assert LoggedReading.objects.count() == 0


def test_who_is_signed_in_sends_nothing_without_a_token(
    logger: Logger, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    address = reverse("firings:readings_take", args=[logger.kiln.pk])

    assert signed_in(keeper).post(address, "{}", content_type="application/json").status_code == 401


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({"content_type": "text/plain"}, 415),
        ({"content_type": "multipart/form-data; boundary=x"}, 415),
        ({"content_type": "application/json; charset=utf-8"}, 422),
        ({"HTTP_CONTENT_ENCODING": "gzip"}, 415),
        ({"CONTENT_LENGTH": ""}, 411),
        ({"CONTENT_LENGTH": str(256 * 1024 + 1)}, 413),
    ],
)
def test_other_sorts_of_body_are_refused_in_json(
    logger: Logger, sent: dict[str, str], status: int
) -> None:
    answer = logger.post("[]", **sent)

    assert answer.status_code == status
    assert set(answer.json()) == {"error", "words"}


@pytest.mark.parametrize("method", ["get", "put", "delete", "patch", "options"])
def test_only_post_is_answered(logger: Logger, method: str) -> None:
    address = reverse("firings:readings_take", args=[logger.kiln.pk])
    answer = getattr(logger.client, method)(address)

    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert answer.json()["error"] == "method_not_allowed"


def test_who_sends_too_often_is_told_when_to_send_again(
    logger: Logger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(logged_readings, "MOST_A_MINUTE", 3)
    for at in moments(3):
        logger.send((at, 500.0))

    answer = logger.post(batch_of([(moments(1)[0] - timedelta(hours=1), 400.0)]))

    assert (answer.status_code, answer.json()["error"]) == (429, "too_often")
    assert 1 <= int(answer["Retry-After"]) <= 60
    assert len(kept(logger.kiln)) == 3
    logger.token.refresh_from_db()
    logger.token.minute_began_at -= timedelta(seconds=61)
    logger.token.save()
    assert logger.send((moments(1)[0] - timedelta(hours=1), 400.0))["accepted"] == 1


def test_no_token_reaches_a_log(
    logger: Logger, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not even of an answer that failed."""
    caplog.set_level(logging.DEBUG)
    logger.post("{")
    logger.client.raise_request_exception = False
    monkeypatch.setattr(logged_readings, "_standing", None)

    assert logger.post(batch_of([(moments(1)[0], 500.0)])).status_code == 500
    assert logger.given.partition(".")[2] not in caplog.text
    assert "TypeError" in caplog.text


def test_what_no_firing_claims_waits_thirty_days_from_when_it_came(
    logger: Logger, artist: Person
) -> None:
    now = moments(1)[0]
    long_ago = now - timedelta(days=31)
    for back, celsius in ((timedelta(days=3), 20.0), (timedelta(days=2), 21.0)):
        logger.send((now - back, celsius))
    firing = make_firing(
        artist, kiln=logger.kiln, state="firing", started_at=now - timedelta(days=2, minutes=5)
    )
    logger.kiln.logged_readings.update(received_at=long_ago)
    logger.token.refresh_from_db()
    logger.token.minute_began_at = long_ago
    logger.token.save()

    logger.send((now, 22.0))

    assert [celsius for _, celsius in kept(logger.kiln)] == [21.0, 22.0], firing


def test_queries_do_not_grow_with_the_batch(
    logger: Logger, artist: Person, django_assert_max_num_queries: Any
) -> None:
    make_firing(artist, kiln=logger.kiln, state="firing")
    logger.send((moments(1)[0] - timedelta(hours=1), 400.0))
    with django_assert_max_num_queries(24):
        logger.send(*((at, 500.0) for at in moments(400, 10.0)))
