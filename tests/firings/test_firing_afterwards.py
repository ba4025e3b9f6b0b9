from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.models import Firing, FiringState, LoadedPiece
from schedules.models import Revision
from studio.models import Kiln, Person
from tests.factories import (
    load_piece,
    make_firing,
    make_glass,
    make_kiln,
    make_place,
    make_revision,
    make_schedule,
)
from tests.firings.pictures import picture_file

SignedIn = Callable[[Person], Client]
PAGE = "/firings/afterwards/"


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def revision(artist: Person) -> Revision:
    return make_revision(make_schedule(artist))


def told(revision: Revision, person: Person, **overrides: Any) -> dict[str, Any]:
    return {
        "revision": revision.pk,
        "fired_by": person.pk,
        "started_at": "2026-01-08T18:30",
        "opened_at": "2026-01-09T09:00",
        "recorded_peak_c": "803",
        "recorded_duration_s": "9:10",
        "title": "Tide bowl",
        "layers": "2",
        "thickest_mm": "6",
        "verdict": "0",
    } | overrides


def test_firing_piece_verdict_and_photographs_are_written_in_one_go(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    form = told(revision, artist, photographs=[picture_file(), picture_file("b.png", "red", "PNG")])
    answer = signed_in(artist).post(f"{PAGE}?kiln={kiln.pk}", form)
    firing = Firing.objects.get()
    assert answer.url == reverse("firings:firing_detail", args=[firing.pk])
    assert (firing.state, firing.kiln, firing.recorded_peak_c) == (FiringState.OPENED, kiln, 803)
    loaded = LoadedPiece.objects.get()
    assert (loaded.piece.title, loaded.is_served, loaded.verdict) == ("Tide bowl", True, 0)
    assert loaded.judged_by == artist
    assert [each.loaded_piece for each in firing.photographs.all()] == [loaded, loaded]


def test_it_can_be_kept_to_oneself(
    artist: Person, student: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    own, address = signed_in(artist), f"{PAGE}?kiln={kiln.pk}"
    wrong = told(revision, artist, is_private="on", recorded_peak_c="hot")
    assert own.post(address, wrong).context["form"]["is_private"].value() is True

    own.post(address, told(revision, artist, is_private="on", photographs=[picture_file()]))

    firing = Firing.objects.get()
    assert firing.is_private
    page = reverse("firings:firing_detail", args=[firing.pk])
    assert "Tide bowl" in own.get(page).text
    other = signed_in(student)
    assert f"They are kept by {artist.name}." in other.get(page).text
    photograph = firing.photographs.get()
    file = reverse("firings:photograph_file", args=[photograph.pk, "small"])
    assert other.get(file).status_code == 403
    assert own.get(address).context["form"]["is_private"].value() is False


def test_not_judged_yet_stays_so(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    signed_in(artist).post(f"{PAGE}?kiln={kiln.pk}", told(revision, artist, verdict=""))
    loaded = LoadedPiece.objects.get()
    assert (loaded.verdict, loaded.judged_by) == (None, None)


def test_page_starts_from_the_last_firing_in_that_kiln_but_never_from_its_measurements(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    glass, place = make_glass(), make_place(kiln)
    last = make_firing(
        artist, kiln=kiln, revision=revision, state="opened", recorded_peak_c=803, title="Panels"
    )
    load_piece(last, glass=glass, place=place, wanted="flat", thickest_mm=9.0, verdict=0)
    newer = make_revision(revision.schedule)
    form = signed_in(artist).get(PAGE, {"kiln": kiln.pk}).context["form"]
    assert form["revision"].value() == newer.pk
    assert (form["glass"].value(), form["place"].value()) == (glass.pk, place.pk)
    assert (form["wanted"].value(), form["thickest_mm"].value()) == ("flat", "9")
    assert form["recorded_peak_c"].value() is None
    assert form["verdict"].value() == ""
    assert form["title"].value() is None


def test_another_kiln_swaps_the_form_and_its_places(
    artist: Person, signed_in: SignedIn, kiln: Kiln
) -> None:
    other = make_kiln("Wren")
    there, elsewhere = make_place(other, "shelf 2"), make_place(kiln)
    answer = signed_in(artist).get(PAGE, {"kiln": other.pk}, headers={"HX-Request": "true"})
    assert b"<html" not in answer.content
    assert answer.content.startswith(b'<form id="afterwards"')
    assert list(answer.context["form"].fields["place"].queryset) == [there]
    assert elsewhere.name.encode() not in answer.content
    whole = signed_in(artist).get(PAGE, {"kiln": other.pk})  # the same by the plain button
    assert b'<form id="afterwards"' in whole.content
    assert b"<html" in whole.content


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("started_at", "yesterday"),
        ("started_at", "2199-01-01T10:00"),
        ("opened_at", "2026-01-08T18:00"),
        ("recorded_peak_c", "very hot"),
        ("recorded_duration_s", "long"),
        ("thickest_mm", "-4"),
        ("thickest_mm", "thick"),
        ("layers", "0"),
        ("verdict", "9"),
        ("revision", "999999"),
        ("title", ""),
    ],
)
def test_wrong_entry_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision, field: str, wrong: str
) -> None:
    form = told(revision, artist, wanted="flat") | {field: wrong}
    page = signed_in(artist).post(f"{PAGE}?kiln={kiln.pk}", form)
    errors = page.context["form"].errors
    assert field in errors
    assert errors.keys() <= {field, "opened_at"}  # a start in the future is after any opening
    assert page.context["form"]["wanted"].value() == "flat"
    assert not Firing.objects.exists()


def test_firing_that_is_on_record_is_not_written_twice_by_two_people(
    artist: Person, instructor: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    signed_in(artist).post(f"{PAGE}?kiln={kiln.pk}", told(revision, artist))
    page = signed_in(instructor).post(
        f"{PAGE}?kiln={kiln.pk}", told(revision, instructor, started_at="2026-01-08T19:00")
    )
    assert "Is it the same one?" in " ".join(page.context["form"].errors["started_at"])
    assert Firing.objects.count() == 1
    other = make_kiln("Wren")
    signed_in(instructor).post(f"{PAGE}?kiln={other.pk}", told(revision, instructor))
    assert Firing.objects.count() == 2


def test_running_firing_keeps_its_kiln(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    make_firing(artist, kiln=kiln, revision=revision, state="firing")
    now = timezone.localtime()
    form = told(
        revision,
        artist,
        started_at=(now - timedelta(hours=5)).strftime("%Y-%m-%dT%H:%M"),
        opened_at=now.strftime("%Y-%m-%dT%H:%M"),
    )
    page = signed_in(artist).post(f"{PAGE}?kiln={kiln.pk}", form)
    assert page.context["form"].errors["started_at"]


def test_same_form_sent_twice_makes_one_firing(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    browser, key = signed_in(artist), str(uuid4())
    answers = [
        browser.post(
            f"{PAGE}?kiln={kiln.pk}",
            told(revision, artist, form_key=key, photographs=picture_file()),
        )
        for _ in range(2)
    ]
    assert answers[0].url == answers[1].url
    assert Firing.objects.count() == 1
    assert Firing.objects.get().photographs.count() == 1


def test_instructor_writes_for_a_student_and_the_piece_is_the_students(
    instructor: Person,
    student: Person,
    signed_in: SignedIn,
    kiln: Kiln,
    revision: Revision,
) -> None:
    signed_in(instructor).post(f"{PAGE}?kiln={kiln.pk}", told(revision, student))
    firing = Firing.objects.get()
    assert (firing.fired_by, firing.written_by) == (student, instructor)
    assert firing.load.get().piece.maker == student


def test_studio_without_a_kiln_is_led_to_one(artist: Person, signed_in: SignedIn) -> None:
    assert b"no kiln on record" in signed_in(artist).get(PAGE).content


def test_foreign_kiln_outsider_and_wrong_method(
    artist: Person, signed_in: SignedIn, outsider: Client, kiln: Kiln
) -> None:
    browser = signed_in(artist)
    assert browser.get(PAGE, {"kiln": 999_999}).status_code == 404
    assert browser.get(PAGE, {"kiln": "one"}).status_code == 404
    assert browser.delete(PAGE).status_code == 405
    assert outsider.get(PAGE).url.startswith(reverse("studio:sign_in"))
