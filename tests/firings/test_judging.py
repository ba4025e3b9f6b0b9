"""Verdicts and faults."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.models import Fault, LoadedPiece
from studio.models import Person
from tests.factories import load_piece, make_firing

SignedIn = Callable[[Person], Client]


def at(view: str, pk: int) -> str:
    return reverse(f"firings:{view}", args=[pk])


def today() -> str:
    return timezone.localdate().isoformat()


def verdict(**overrides: Any) -> dict[str, Any]:
    return {"verdict": "1", "fault-severity": "2", "fault-seen_on": today()} | overrides


@pytest.fixture
def loaded(artist: Person) -> LoadedPiece:
    return load_piece(make_firing(artist, state="opened"))


@pytest.mark.parametrize(
    ("keyed", "kept"), [("-2", -2), ("-1", -1), ("0", 0), ("1", 1), ("2", 2), ("", None)]
)
def test_verdict_is_kept_as_given(
    artist: Person, signed_in: SignedIn, loaded: LoadedPiece, keyed: str, kept: int | None
) -> None:
    signed_in(artist).post(at("piece_judge", loaded.pk), verdict(verdict=keyed))
    loaded.refresh_from_db()
    assert loaded.verdict == kept
    assert (loaded.judged_by, loaded.judged_at is None) == (
        (None, True) if kept is None else (artist, False)
    )


def test_form_without_a_verdict_is_not_judged_yet(
    artist: Person, signed_in: SignedIn, loaded: LoadedPiece
) -> None:
    told = verdict(remarks="looked at it")
    del told["verdict"]
    signed_in(artist).post(at("piece_judge", loaded.pk), told)
    loaded.refresh_from_db()
    assert (loaded.verdict, loaded.remarks) == (None, "looked at it")


def test_size_after_remarks_and_a_fault_are_kept_together(
    artist: Person, signed_in: SignedIn, loaded: LoadedPiece
) -> None:
    told = verdict(
        remarks="spread to the left",
        length_after_mm="214,5",
        width_after_mm="209",
        thickness_after_mm="5.6",
    ) | {"fault-kind": "devitrification", "fault-severity": "1", "fault-note": "rim only"}
    answer = signed_in(artist).post(at("piece_judge", loaded.pk), told)
    assert answer.url == at("firing_detail", loaded.firing_id)
    loaded.refresh_from_db()
    assert (loaded.length_after_mm, loaded.thickness_after_mm) == (214.5, 5.6)
    fault = loaded.faults.get()
    assert (fault.kind, fault.severity, fault.note) == ("devitrification", 1, "rim only")
    assert (fault.noted_by, fault.seen_on) == (artist, timezone.localdate())


def test_verdict_taken_back_is_nobodys(
    artist: Person, instructor: Person, signed_in: SignedIn, loaded: LoadedPiece
) -> None:
    signed_in(instructor).post(at("piece_judge", loaded.pk), verdict())
    loaded.refresh_from_db()
    assert loaded.judged_by == instructor
    signed_in(artist).post(at("piece_judge", loaded.pk), verdict(remarks="same"))
    loaded.refresh_from_db()
    assert loaded.judged_by == instructor  # the verdict itself did not change
    signed_in(artist).post(at("piece_judge", loaded.pk), verdict(verdict=""))
    loaded.refresh_from_db()
    assert (loaded.judged_by, loaded.judged_at) == (None, None)


def test_piece_in_a_closed_kiln_is_not_judged(artist: Person, signed_in: SignedIn) -> None:
    loaded = load_piece(make_firing(artist, state="firing"))
    page = signed_in(artist).post(at("piece_judge", loaded.pk), verdict(remarks="kept"))
    assert "once its kiln was opened" in str(page.context["form"].non_field_errors())
    assert page.context["form"]["remarks"].value() == "kept"
    loaded.refresh_from_db()
    assert loaded.verdict is None


@pytest.mark.parametrize(
    ("field", "wrong", "which"),
    [
        ("verdict", "3", "form"),
        ("verdict", "splendid", "form"),
        ("length_after_mm", "wide", "form"),
        ("thickness_after_mm", "0.1", "form"),
        ("fault-seen_on", "2199-01-01", "fault_form"),
        ("fault-seen_on", "2001-01-01", "fault_form"),
        ("fault-seen_on", "the other day", "fault_form"),
        ("fault-severity", "4", "fault_form"),
        ("fault-kind", "gremlins", "fault_form"),
    ],
)
def test_wrong_entry_is_said_at_its_field_and_nothing_is_half_kept(
    artist: Person, signed_in: SignedIn, loaded: LoadedPiece, field: str, wrong: str, which: str
) -> None:
    told = verdict(remarks="kept") | {"fault-kind": "stuck", field: wrong}
    page = signed_in(artist).post(at("piece_judge", loaded.pk), told)
    assert page.context[which].errors.keys() == {field.removeprefix("fault-")}
    assert page.context["form"]["remarks"].value() == "kept"
    loaded.refresh_from_db()
    assert (loaded.verdict, loaded.remarks) == (None, "")
    assert not Fault.objects.exists()


def test_fault_seen_later_has_its_own_day(artist: Person, signed_in: SignedIn) -> None:
    now = timezone.now()
    week_old = {"started_at": now - timedelta(days=8), "opened_at": now - timedelta(days=7)}
    loaded = load_piece(make_firing(artist, state="opened", **week_old))
    day = timezone.localdate() - timedelta(days=3)
    told = {"kind": "crack_sharp", "severity": "3", "seen_on": day.isoformat()}
    signed_in(artist).post(at("fault_add", loaded.pk), told)
    fault = Fault.objects.get()
    assert (fault.seen_on, fault.severity) == (day, 3)
    signed_in(artist).post(at("fault_remove", fault.pk))
    assert not Fault.objects.exists()


def test_fault_is_not_seen_before_its_firing_was_started(
    artist: Person, signed_in: SignedIn, loaded: LoadedPiece
) -> None:
    started = timezone.localdate(loaded.firing.started_at)
    told = {"kind": "stuck", "severity": "2", "seen_on": (started - timedelta(days=1)).isoformat()}
    page = signed_in(artist).post(at("fault_add", loaded.pk), told)
    assert "before this firing was started" in page.context["form"].errors["seen_on"][0]
    signed_in(artist).post(at("fault_add", loaded.pk), told | {"seen_on": started.isoformat()})
    assert Fault.objects.get().seen_on == started


def test_fault_needs_its_kind(artist: Person, signed_in: SignedIn, loaded: LoadedPiece) -> None:
    told = {"kind": "", "severity": "2", "seen_on": today()}
    page = signed_in(artist).post(at("fault_add", loaded.pk), told)
    assert page.context["form"].errors["kind"]


@pytest.mark.parametrize("view", ["piece_judge", "fault_add"])
def test_maker_instructor_and_keeper_judge_and_nobody_else(
    view: str,
    artist: Person,
    student: Person,
    instructor: Person,
    keeper: Person,
    signed_in: SignedIn,
    outsider: Client,
) -> None:
    firing = make_firing(artist, state="opened")
    theirs = load_piece(firing, maker=student)
    for person, status in ((student, 200), (instructor, 200), (keeper, 200), (artist, 403)):
        assert signed_in(person).get(at(view, theirs.pk)).status_code == status
    assert outsider.get(at(view, theirs.pk)).url.startswith(reverse("studio:sign_in"))
    assert signed_in(keeper).get(at(view, 999_999)).status_code == 404
    assert signed_in(keeper).put(at(view, theirs.pk)).status_code == 405


def test_fault_is_taken_back_by_whoever_may_judge(
    artist: Person, student: Person, signed_in: SignedIn, loaded: LoadedPiece
) -> None:
    fault = Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=artist)
    assert signed_in(student).post(at("fault_remove", fault.pk)).status_code == 403
    assert signed_in(artist).get(at("fault_remove", fault.pk)).status_code == 405
    assert signed_in(artist).post(at("fault_remove", 999_999)).status_code == 404


def test_same_form_sent_twice_notes_one_fault(
    artist: Person, signed_in: SignedIn, loaded: LoadedPiece
) -> None:
    told = verdict(form_key=str(uuid4())) | {"fault-kind": "stuck"}
    for _ in range(2):
        signed_in(artist).post(at("piece_judge", loaded.pk), told)
    assert Fault.objects.count() == 1


@pytest.mark.parametrize("state", ["planned", "firing"])
def test_no_fault_is_seen_before_the_kiln_was_opened(
    artist: Person, signed_in: SignedIn, state: str
) -> None:
    loaded = load_piece(make_firing(artist, state=state))
    fault = {"kind": "stuck", "severity": "2", "seen_on": today()}
    beside = {f"fault-{name}": value for name, value in fault.items()}

    for view, told in (("fault_add", fault), ("piece_judge", beside)):
        page = signed_in(artist).post(at(view, loaded.pk), told)
        assert "once its kiln was opened" in page.text

    assert not Fault.objects.exists()
