"""Start, open, call off: each by whoever may, once, and kindly when somebody was quicker."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions import record
from firings.models import Firing, FiringState
from studio.formats import plain
from studio.models import Person, Studio
from tests.factories import load_piece, make_firing, make_kiln, make_place, make_revision
from tests.firings.pictures import picture_file

SignedIn = Callable[[Person], Client]


def address(view: str, firing: Firing) -> str:
    return reverse(f"firings:{view}", args=[firing.pk])


def words(answer: Any) -> str:
    return " ".join(str(message) for message in answer.context["messages"])


def test_planned_firing_is_started_now_unless_a_time_is_said(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    signed_in(artist).post(address("firing_start", firing), {"room_temperature_c": "19.5"})
    firing.refresh_from_db()
    assert firing.state == FiringState.FIRING
    assert abs(firing.started_at - timezone.now()) < timedelta(minutes=1)
    assert firing.room_temperature_c == 19.5


def test_room_is_read_in_the_readers_unit(artist: Person, signed_in: SignedIn) -> None:
    artist.unit = "F"
    artist.save()
    firing = make_firing(artist)
    signed_in(artist).post(address("firing_start", firing), {"room_temperature_c": "68"})
    firing.refresh_from_db()
    assert firing.room_temperature_c == pytest.approx(20)


def test_second_to_start_is_told_when_it_was_started(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    browser = signed_in(artist)
    browser.post(address("firing_start", firing), {"form_key": str(uuid4())})
    answer = browser.post(address("firing_start", firing), {"form_key": str(uuid4())}, follow=True)
    assert "was started already" in words(answer)
    assert Firing.objects.get().state == FiringState.FIRING


def test_kiln_runs_one_firing_at_a_time(artist: Person, signed_in: SignedIn) -> None:
    running = make_firing(artist, state="firing", title="Panels")
    waiting = make_firing(artist, revision=running.revision)
    page = signed_in(artist).post(address("firing_start", waiting), {})
    assert "Panels is still running in Heron" in str(page.context["form"].non_field_errors())
    waiting.refresh_from_db()
    assert waiting.state == FiringState.PLANNED


def test_start_in_the_future_is_refused_at_its_field(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    page = signed_in(artist).post(
        address("firing_start", firing), {"started_at": "2199-01-01T10:00"}
    )
    [told] = page.context["form"].errors["started_at"]
    assert "This lies in the future: now it is " in told
    assert told.endswith("Put the day or the time right, or note it once it has happened.")


def opening(**overrides: Any) -> dict[str, Any]:
    opened = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
    return {
        "opened_at": opened,
        "opened_temperature_c": "55",
        "recorded_peak_c": "803",
        "recorded_hold_s": "10",
        "recorded_duration_s": "9:40",
    } | overrides


def test_opening_keeps_facts_photographs_and_verdicts(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="firing")
    judged, unjudged = load_piece(firing), load_piece(firing, title="Second")
    told = opening(opened_by=artist.pk, photographs=[picture_file(), picture_file(colour="red")])
    told |= {f"piece{judged.pk}-verdict": "-1", f"piece{judged.pk}-remarks": "edges square"}
    signed_in(artist).post(address("firing_open", firing), told)
    firing.refresh_from_db()
    assert (firing.state, firing.opened_by) == (FiringState.OPENED, artist)
    assert (firing.recorded_peak_c, firing.recorded_hold_s) == (803, 600)
    assert (firing.opened_temperature_c, firing.recorded_duration_s) == (55, 34800)
    assert firing.photographs.count() == 2
    judged.refresh_from_db()
    unjudged.refresh_from_db()
    assert (judged.verdict, judged.judged_by, judged.remarks) == (-1, artist, "edges square")
    assert (unjudged.verdict, unjudged.judged_by, unjudged.judged_at) == (None, None, None)


def test_opening_asks_in_the_order_in_which_one_comes_to_it(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="firing")
    load_piece(firing)
    page = signed_in(artist).get(address("firing_open", firing)).content.decode()
    assert page.index("opened_at") < page.index('name="photographs"') < page.index("-verdict")


@pytest.mark.parametrize(
    ("field", "wrong", "says"),
    [
        ("recorded_peak_c", "hot", "Enter a number"),
        ("recorded_peak_c", "1500", "1400 °C"),
        ("recorded_duration_s", "all night", "1:30"),
        ("opened_at", "2001-01-01T10:00", "before it was started"),
        ("opened_at", "2199-01-01T10:00", "future"),
    ],
)
def test_wrong_opening_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person, signed_in: SignedIn, field: str, wrong: str, says: str
) -> None:
    firing = make_firing(artist, state="firing")
    told = opening(opened_by=artist.pk, photographs=picture_file()) | {field: wrong}
    page = signed_in(artist).post(address("firing_open", firing), told)
    form = page.context["form"]
    assert says in plain(" ".join(form.errors[field]))
    assert form["opened_temperature_c"].value() == "55"
    assert "Choose them once more" in " ".join(form.errors["photographs"])
    assert not firing.photographs.exists()


def test_second_to_open_is_told_and_changes_nothing(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="firing")
    browser = signed_in(artist)
    browser.post(address("firing_open", firing), opening(opened_by=artist.pk))
    later = opening(opened_by=artist.pk, recorded_peak_c="790", photographs=picture_file())
    answer = browser.post(address("firing_open", firing), later, follow=True)
    assert "was opened already" in words(answer)
    firing.refresh_from_db()
    assert firing.recorded_peak_c == 803
    assert not firing.photographs.exists()


def test_same_opening_sent_twice_keeps_its_photographs_once(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="firing")
    browser, key = signed_in(artist), str(uuid4())
    for _ in range(2):
        answer = browser.post(
            address("firing_open", firing),
            opening(opened_by=artist.pk, photographs=picture_file(), form_key=key),
        )
        assert answer.url == reverse("firings:firing_detail", args=[firing.pk])
    assert firing.photographs.count() == 1


def test_artist_opens_anothers_firing_and_a_student_does_not(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(instructor, state="firing")
    told = opening()
    assert signed_in(student).post(address("firing_open", firing), told).status_code == 403
    assert signed_in(artist).get(address("firing_open", firing)).status_code == 200


def test_whoever_opens_judges_their_own_pieces_only(
    artist: Person, student: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(student, state="firing")
    theirs = load_piece(firing)
    told = opening(opened_by=artist.pk) | {f"piece{theirs.pk}-verdict": "2"}
    signed_in(artist).post(address("firing_open", firing), told)
    theirs.refresh_from_db()
    firing.refresh_from_db()
    assert firing.state == FiringState.OPENED
    assert theirs.verdict is None


def test_planned_firing_is_called_off_with_its_reason(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    signed_in(artist).post(address("firing_call_off", firing), {"reason": "relay clicks"})
    firing.refresh_from_db()
    assert (firing.state, firing.called_off_reason) == (FiringState.CALLED_OFF, "relay clicks")


@pytest.mark.parametrize("state", ["firing", "opened"])
def test_firing_that_was_started_is_not_called_off(
    artist: Person, signed_in: SignedIn, state: str
) -> None:
    firing = make_firing(artist, state=state)
    answer = signed_in(artist).post(address("firing_call_off", firing), {}, follow=True)
    assert "already" in words(answer)
    firing.refresh_from_db()
    assert firing.state == state


def test_clocks_may_differ_by_a_few_minutes(artist: Person) -> None:
    firing = make_firing(artist)
    record.firing_start(firing=firing, started_at=timezone.now() + timedelta(minutes=5))
    with pytest.raises(ValidationError, match="future"):
        record.firing_open(
            firing=firing, opened_by=artist, opened_at=timezone.now() + timedelta(hours=1)
        )


def test_kiln_taken_out_of_service_meanwhile_starts_nothing(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    firing.kiln.in_service = False
    firing.kiln.save()
    page = signed_in(artist).post(address("firing_start", firing), {})
    assert "out of service" in str(page.context["form"].errors)


def test_plan_is_changed_until_it_starts(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    other = make_kiln("Wren")
    newer = make_revision(firing.revision.schedule)
    told = {"kiln": other.pk, "revision": newer.pk, "title": "Panels", "fired_by": artist.pk}
    signed_in(artist).post(address("firing_edit", firing), told)
    firing.refresh_from_db()
    assert (firing.kiln, firing.revision, firing.title) == (other, newer, "Panels")


def test_plan_changed_after_somebody_started_it_is_left_alone(artist: Person) -> None:
    seen = make_firing(artist, title="Panels")
    record.firing_start(firing=seen)
    with pytest.raises(record.StateError):
        record.firing_change(firing=seen, changes={"title": "Bowls"})
    assert Firing.objects.get().title == "Panels"


def test_record_takes_what_was_measured_and_what_else_changed(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    told = {
        "title": "Tide bowl",
        "fired_by": artist.pk,
        "started_at": timezone.localtime(firing.started_at).strftime("%Y-%m-%dT%H:%M"),
        "opened_at": timezone.localtime(firing.opened_at).strftime("%Y-%m-%dT%H:%M"),
        "recorded_peak_c": "804,5",
        "recorded_hold_s": "0:12",
        "recorded_duration_s": "9 h 05",
        "room_temperature_c": "-3",
        "energy_kwh": "11.2",
        "also_changed": ["mould", "glass_batch"],
        "also_changed_note": "the deeper one",
        "notes": "peephole stayed shut",
    }
    signed_in(artist).post(address("firing_edit", firing), told)
    firing.refresh_from_db()
    assert (firing.recorded_peak_c, firing.recorded_hold_s) == (804.5, 720)
    assert (firing.recorded_duration_s, firing.room_temperature_c) == (32700, -3)
    assert float(firing.energy_kwh) == 11.2
    assert firing.also_changed == ["mould", "glass_batch"]


def test_record_saved_untouched_keeps_every_second(artist: Person, signed_in: SignedIn) -> None:
    """Also in the hour that came twice, when a phone can't say which of the two it was."""
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Europe/Lisbon"})
    second_coming = datetime(2026, 10, 25, 1, 30, 42, tzinfo=UTC)  # 01:30 on the clock, again
    firing = make_firing(
        artist,
        state="opened",
        started_at=second_coming,
        opened_at=second_coming + timedelta(hours=15),
        recorded_peak_c=804.333,
        recorded_duration_s=36_015,
    )
    artist.unit = "F"
    artist.save()
    browser = signed_in(artist)
    page = browser.get(address("firing_edit", firing))
    shown = {field.name: field.value() for field in page.context["form"]}
    sent = {name: value for name, value in shown.items() if value is not None}
    assert sent["started_at"] == "2026-10-25T01:30"

    answer = browser.post(address("firing_edit", firing), sent | {"title": "Ebb"})

    assert answer.status_code == 302
    kept = Firing.objects.get()
    assert (kept.title, kept.started_at, kept.opened_at) == ("Ebb", second_coming, firing.opened_at)
    assert (kept.recorded_peak_c, kept.recorded_duration_s) == (804.333, 36_015)


def test_in_another_kiln_pieces_keep_places_of_the_same_name(artist: Person) -> None:
    here, there = make_kiln("Heron"), make_kiln("Plover")
    wanted = make_place(there, "centre")
    firing = make_firing(artist, kiln=here)
    middle = load_piece(firing, place=make_place(here, "centre"))
    corner = load_piece(firing, place=make_place(here, "corner"))

    record.firing_change(firing=firing, changes={"kiln": there})

    middle.refresh_from_db()
    corner.refresh_from_db()
    assert (middle.place, corner.place) == (wanted, None)


def test_of_another_revision_nothing_was_keyed_differently_yet(artist: Person) -> None:
    firing = make_firing(artist)
    firing.keyed_differences.create(position=1, part="target", value=1480)
    other = make_revision(firing.revision.schedule)

    record.firing_change(firing=firing, changes={"title": "Ebb"})
    assert firing.keyed_differences.exists()
    record.firing_change(firing=firing, changes={"revision": other})

    assert not firing.keyed_differences.exists()


def test_record_opened_before_its_start_is_refused_at_the_field(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    told = {"started_at": "2026-02-02T10:00", "opened_at": "2026-02-01T10:00", "notes": "kept"}
    page = signed_in(artist).post(address("firing_edit", firing), told | {"fired_by": artist.pk})
    assert page.context["form"].errors["opened_at"]
    assert page.context["form"]["notes"].value() == "kept"


def test_called_off_firing_has_nothing_to_edit(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="called_off", called_off_at=timezone.now())
    answer = signed_in(artist).get(address("firing_edit", firing), follow=True)
    assert "was called off" in words(answer)


@pytest.mark.parametrize("view", ["firing_edit", "firing_start", "firing_open", "firing_call_off"])
def test_pages_are_closed_to_outsiders_and_to_those_whose_it_is_not(
    view: str, outsider: Client, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(instructor, state="firing" if view == "firing_open" else "planned")
    assert outsider.get(address(view, firing)).url.startswith(reverse("studio:sign_in"))
    assert signed_in(student).get(address(view, firing)).status_code == 403
    browser = signed_in(instructor)
    assert browser.get(address(view, firing)).status_code == 200
    assert browser.get(reverse(f"firings:{view}", args=[999_999])).status_code == 404
    assert browser.put(address(view, firing)).status_code == 405
