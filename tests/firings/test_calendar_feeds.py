"""Addresses for calendar programs, and what they give, read back by two parsers."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.actions.record import firing_call_off, firing_change
from firings.actions.steps import piece_begin, step_change, step_skip
from firings.models import Booking, CalendarFeed, Firing
from studio.models import Kiln, Person
from tests.factories import load_piece, make_firing, make_kiln, make_person, make_revision

SignedIn = Callable[[Person], Client]
FEEDS = "/calendar/feeds/"
TUESDAY = datetime(2027, 3, 9, 9, 30, tzinfo=UTC)


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def feed(artist: Person, kiln: Kiln) -> CalendarFeed:
    return CalendarFeed.objects.create(made_by=artist)


@pytest.fixture
def planned(artist: Person, kiln: Kiln) -> Firing:
    return make_firing(artist, kiln=kiln, title="Tide bowl", planned_start=TUESDAY)


def given(feed: CalendarFeed) -> bytes:
    answer = Client().get(reverse("firings:calendar_feed", args=[feed.token]))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return bytes(answer.content)


def events(feed: CalendarFeed) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(given(feed)).walk("VEVENT"))


def test_feed_is_read_by_two_parsers(planned: Firing, feed: CalendarFeed) -> None:
    (event,) = events(feed)
    booking = planned.booking
    assert event.decoded("dtstart") == TUESDAY
    assert event.decoded("dtend") == booking.ends_at
    assert (str(event["uid"]), event["sequence"]) == (str(booking.uid), 0)
    assert str(event["summary"]) == "Heron: Tide bowl"
    assert str(event["description"]).startswith("Inka, planned. ")
    assert (str(event["status"]), str(event["location"])) == ("CONFIRMED", "Heron")
    assert str(event["url"]).endswith(f"/firings/{planned.pk}/")

    other = vobject.readOne(given(feed).decode()).vevent
    assert other.dtstart.value == TUESDAY
    assert other.dtend.value == booking.ends_at
    assert other.uid.value == str(booking.uid)
    assert other.summary.value == "Heron: Tide bowl"


def test_lines_are_folded_at_75_octets_and_texts_escaped(
    planned: Firing, feed: CalendarFeed
) -> None:
    title = "Blåskål; für Łódź, 20×20 \\ „Ebbe“ – " + "沙鸥 " * 20
    firing_change(firing=planned, changes={"title": title.strip()[:120]})
    lines = given(feed).split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert b"\n" not in b"".join(lines)
    assert "Heron: Blåskål\\; für Łódź\\, 20×20".encode() in b"".join(
        line.removeprefix(b" ") for line in lines
    )
    wanted = f"Heron: {title.strip()[:120]}"
    (event,) = events(feed)
    assert str(event["summary"]) == wanted
    assert vobject.readOne(given(feed).decode()).vevent.summary.value == wanted


@pytest.mark.parametrize(
    ("zone", "local", "utc"),
    [
        # Europe goes forward on 28 March 2027 at 1:00 UTC, back on 31 October at 1:00 UTC.
        ("Europe/Lisbon", datetime(2027, 3, 28, 0, 30), datetime(2027, 3, 28, 0, 30)),
        ("Europe/Berlin", datetime(2027, 3, 28, 3, 30), datetime(2027, 3, 28, 1, 30)),
        ("Europe/Berlin", datetime(2027, 10, 31, 2, 30), datetime(2027, 10, 31, 0, 30)),
        ("Europe/Berlin", datetime(2027, 10, 31, 2, 30, fold=1), datetime(2027, 10, 31, 1, 30)),
        # North America goes forward on 14 March 2027 at 2:00, back on 7 November at 2:00.
        ("America/Halifax", datetime(2027, 3, 14, 3, 15), datetime(2027, 3, 14, 6, 15)),
        ("America/Halifax", datetime(2027, 11, 7, 1, 15, fold=1), datetime(2027, 11, 7, 5, 15)),
    ],
)
def test_clocks_that_change_move_nothing(
    artist: Person, kiln: Kiln, feed: CalendarFeed, zone: str, local: datetime, utc: datetime
) -> None:
    start = local.replace(tzinfo=ZoneInfo(zone))
    firing = make_firing(artist, kiln=kiln, planned_start=start)
    length = Booking.objects.get().ends_at - utc.replace(tzinfo=UTC)
    (event,) = events(feed)
    other = vobject.readOne(given(feed).decode()).vevent
    for begin, end in (
        (event.decoded("dtstart"), event.decoded("dtend")),
        (other.dtstart.value, other.dtend.value),
    ):
        assert begin.utcoffset() == timedelta(0)
        assert begin == utc.replace(tzinfo=UTC)
        assert end - begin == length
        assert begin.astimezone(ZoneInfo(zone)).replace(tzinfo=None, fold=0) == local.replace(
            fold=0
        )
    assert firing.booking.starts_at == utc.replace(tzinfo=UTC)


def test_change_raises_the_sequence_and_keeps_the_uid(planned: Firing, feed: CalendarFeed) -> None:
    (before,) = events(feed)
    later = TUESDAY + timedelta(days=1)
    changed = firing_change(firing=planned, changes={"planned_start": later})
    (after,) = events(feed)
    assert after["uid"] == before["uid"]
    assert (before["sequence"], after["sequence"]) == (0, 1)
    assert after.decoded("last-modified") >= before.decoded("last-modified")
    assert after.decoded("dtstart") == later
    firing_change(firing=changed, changes={"notes": "Nobody's calendar is told of this."})
    assert events(feed)[0]["sequence"] == 1
    firing_change(firing=changed, changes={"title": "Weir bowl"})
    assert events(feed)[0]["sequence"] == 2


def test_called_off_stays_as_cancelled(planned: Firing, feed: CalendarFeed) -> None:
    firing_call_off(firing=planned, by=planned.fired_by)
    (event,) = events(feed)
    assert (str(event["status"]), event["sequence"]) == ("CANCELLED", 1)
    assert event.decoded("dtstart") == TUESDAY
    assert vobject.readOne(given(feed).decode()).vevent.status.value == "CANCELLED"


def test_feeds_of_a_kiln_a_person_and_the_studio(
    artist: Person, student: Person, planned: Firing, feed: CalendarFeed
) -> None:
    wren = make_kiln("Wren")
    make_firing(student, kiln=wren, title="Shoal tile", planned_start=TUESDAY)
    of_wren = CalendarFeed.objects.create(made_by=artist, kiln=wren)
    of_artist = CalendarFeed.objects.create(made_by=artist, person=artist)
    told = [
        [str(event["summary"]) for event in events(each)] for each in (feed, of_wren, of_artist)
    ]
    assert told == [
        ["Heron: Tide bowl", "Wren: Shoal tile"],
        ["Wren: Shoal tile"],
        ["Heron: Tide bowl"],
    ]


def test_nothing_private_is_in_it(artist: Person, planned: Firing, feed: CalendarFeed) -> None:
    Firing.objects.update(is_private=True, notes="for a secret wedding")
    load_piece(planned, title="Wedding bowl", wanted="deep")
    text = given(feed).decode()
    assert "wedding" not in text.lower()
    assert artist.sign_in_name + "@" not in text


def test_what_is_long_over_is_left_out(artist: Person, kiln: Kiln, feed: CalendarFeed) -> None:
    now = timezone.now()
    for days in (100, 10):
        make_firing(
            artist,
            kiln=kiln,
            state="opened",
            started_at=now - timedelta(days=days),
            opened_at=now - timedelta(days=days - 1),
        )
    assert len(events(feed)) == 1


def test_asking_again_costs_nothing_while_nothing_changed(
    planned: Firing, feed: CalendarFeed
) -> None:
    address = reverse("firings:calendar_feed", args=[feed.token])
    first = Client().get(address)
    again = Client().get(address, headers={"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    firing_change(firing=planned, changes={"title": "Weir bowl"})
    assert Client().get(address, headers={"If-None-Match": first["ETag"]}).status_code == 200


def test_feed_costs_the_same_queries_however_many_there_are(
    artist: Person, planned: Firing, feed: CalendarFeed, django_assert_num_queries: Any
) -> None:
    given(feed)
    with CaptureQueriesContext(connection) as few:
        given(feed)
    for day in range(1, 6):
        revision = make_revision(planned.revision.schedule)
        make_firing(
            artist,
            kiln=planned.kiln,
            revision=revision,
            planned_start=TUESDAY + timedelta(days=3 * day),
        )
    with django_assert_num_queries(len(few)):
        given(feed)


def test_feed_is_made_once_and_shown(artist: Person, signed_in: SignedIn, kiln: Kiln) -> None:
    browser = signed_in(artist)
    form = {"of": f"kiln-{kiln.pk}", "form_key": str(uuid4())}
    browser.post(FEEDS, form)
    browser.post(FEEDS, form)
    browser.post(FEEDS, {"of": f"kiln-{kiln.pk}"})
    feed = CalendarFeed.objects.get()
    assert (feed.made_by, feed.kiln, feed.person) == (artist, kiln, None)
    assert len(feed.token) >= 40  # 32 random bytes
    assert f"http://testserver/calendar/{feed.token}.ics" in browser.get(FEEDS).text


def test_feeds_of_myself_others_and_the_studio_are_made(
    artist: Person, student: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(artist)
    for of in ("mine", f"person-{student.pk}", "studio"):
        browser.post(FEEDS, {"of": of})
    made = CalendarFeed.objects.values_list("kiln", "person")
    assert list(made) == [(None, artist.pk), (None, student.pk), (None, None)]
    refused = browser.post(FEEDS, {"of": "person-999"})
    assert refused.context["form"].errors["of"]
    assert CalendarFeed.objects.count() == 3


def test_new_address_ends_the_old_one(
    artist: Person, student: Person, signed_in: SignedIn, feed: CalendarFeed
) -> None:
    old = reverse("firings:calendar_feed", args=[feed.token])
    renew = reverse("firings:calendar_feed_renew", args=[feed.pk])
    assert signed_in(student).post(renew).status_code == 403
    assert Client().get(old).status_code == 200
    signed_in(artist).post(renew)
    assert Client().get(old).status_code == 404
    feed.refresh_from_db()
    assert given(feed)


def test_removed_feed_and_one_of_who_left_lead_nowhere(
    artist: Person, signed_in: SignedIn, feed: CalendarFeed
) -> None:
    gone = CalendarFeed.objects.create(made_by=make_person("wilf", role="artist", is_active=False))
    assert Client().get(reverse("firings:calendar_feed", args=[gone.token])).status_code == 404
    signed_in(artist).post(reverse("firings:calendar_feed_remove", args=[feed.pk]))
    assert Client().get(reverse("firings:calendar_feed", args=[feed.token])).status_code == 404
    assert Client().get("/calendar/guessed.ics").status_code == 404


def test_feed_only_answers_to_reading_and_its_page_to_people(
    feed: CalendarFeed, outsider: Client
) -> None:
    address = reverse("firings:calendar_feed", args=[feed.token])
    assert outsider.head(address).status_code == 200
    assert outsider.post(address).status_code == 405
    assert outsider.get(FEEDS).url.startswith(reverse("studio:sign_in"))


def test_own_feed_has_the_days_by_which_steps_are_wanted(
    artist: Person, kiln: Kiln, feed: CalendarFeed
) -> None:
    day = timezone.localdate() + timedelta(days=9)
    own = CalendarFeed.objects.create(made_by=artist, person=artist)
    CalendarFeed.objects.create(made_by=make_person("wilf"), person=artist)
    piece = piece_begin(maker=artist, title="Secret", sequence="fuse_slump", wanted_by=day)
    (event,) = events(own)
    assert (event.decoded("dtstart"), str(event["summary"])) == (day, "Wanted: slump")
    assert event["dtstart"].params["VALUE"] == "DATE"
    assert str(event["url"]).endswith(f"/pieces/{piece.pk}/")
    assert b"Secret" not in given(own)
    assert vobject.readOne(given(own).decode()).vevent.dtstart.value == day
    for other in CalendarFeed.objects.exclude(pk=own.pk):
        assert not events(other)
    # Another day raises its sequence and keeps its UID; once it is ended it is gone.
    step = piece.steps.get(kind="slump")
    step_change(step=step, changes={"wanted_by": day + timedelta(days=1)})
    (moved,) = events(own)
    assert moved["uid"] == event["uid"]
    assert moved["sequence"] > event["sequence"]
    step_skip(step=step, reason="Stays flat.")
    assert not events(own)
