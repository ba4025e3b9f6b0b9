"""Pieces that wait for a kiln, and the firings that are planned out of them."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.actions.load import piece_remove
from firings.actions.record import firing_call_off
from firings.actions.waiting import NotWaitingError, piece_wait, waiting_load
from firings.models import Firing, Piece, WaitingPiece
from firings.queries.waiting import pieces_waiting
from studio.models import Person
from tests.at_once import at_once
from tests.factories import (
    load_piece,
    make_family,
    make_firing,
    make_glass,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)

SignIn = Callable[[Person], Client]
LIST = "/waiting/"


def waits(maker: Person, title: str = "Tide bowl", **facts: Any) -> WaitingPiece:
    usual = {
        "process": "full_fuse", "layers": 2, "thickest_mm": 6.0,
        "length_mm": 200.0, "width_mm": 180.0,
    }  # fmt: skip
    glass = facts.pop("glass", None) or make_glass()
    return piece_wait(maker=maker, title=title, glass=glass, **usual | facts)


@pytest.mark.django_db
def test_a_piece_is_put_on_the_list_and_taken_off(
    student: Person, artist: Person, signed_in: SignIn
) -> None:
    glass, client = make_glass(), signed_in(student)
    given = {"title": "Tide bowl", "maker": student.pk, "process": "slump", "glass": glass.pk,
             "layers": "1", "thickest_mm": "6", "wanted": "evenly down"}  # fmt: skip
    refused = client.post("/waiting/add/", given | {"title": "", "thickest_mm": "900"})
    assert set(refused.context["form"].errors) == {"title", "thickest_mm"}
    assert refused.context["form"]["wanted"].value() == "evenly down"
    make_kiln()
    page = client.post("/waiting/add/", given, follow=True)
    for said in ("“Tide bowl” waits for a kiln.", "Slump, soft 90, 6&nbsp;mm", "1 without a size"):
        assert said.replace("&nbsp;", " ") in page.text
    waiting = WaitingPiece.objects.get()
    withdraw = reverse("firings:waiting_withdraw", args=[waiting.pk])
    assert signed_in(artist).post(withdraw).status_code == 403
    client.post(withdraw)
    assert "No piece waits" in client.get(LIST).text
    assert "waits no longer" in client.post(withdraw, follow=True).text


@pytest.mark.django_db
def test_a_piece_waits_once(artist: Person) -> None:
    waiting = waits(artist)
    with pytest.raises(ValidationError, match="waits for a kiln already"):
        piece_wait(
            maker=artist, piece=waiting.piece, glass=waiting.glass, process="slump", thickest_mm=6.0
        )


@pytest.mark.django_db
def test_alike_pieces_are_planned_together(
    artist: Person, student: Person, signed_in: SignIn
) -> None:
    kiln, glass = make_kiln(), make_glass()
    revision = make_revision(make_schedule(artist, family=glass.family))
    first, second = waits(student, glass=glass), waits(artist, "Ebb tile", glass=glass)
    waits(student, "Thick one", glass=glass, thickest_mm=12.0)
    page = signed_in(artist).get(LIST)
    assert [len(load.pieces) for load in page.context["page"]] == [2, 1]
    load = f"/waiting/load/?kiln={kiln.pk}&piece={first.pk}&piece={second.pk}"
    assert load.replace("&", "&amp;") in page.text
    assert "/waiting/load/" not in signed_in(student).get(LIST).text
    given = {"pieces": [first.pk, second.pk], "kiln": kiln.pk, "revision": revision.pk}
    empty = signed_in(artist).post(load, given | {"pieces": []})
    assert "Tick at least one piece." in empty.text
    signed_in(artist).post(load, given)
    firing = Firing.objects.get()
    assert sorted(each.piece.title for each in firing.load.all()) == ["Ebb tile", "Tide bowl"]
    assert firing.load.filter(is_served=True).count() == 1
    lying = firing.load.get(piece=first.piece)
    assert (lying.glass, lying.length_mm, lying.piece.maker) == (glass, 200.0, student)
    assert "Tide bowl" not in signed_in(student).get(LIST).text


@pytest.mark.django_db
def test_a_piece_loaded_by_hand_waits_no_longer(artist: Person) -> None:
    waiting = waits(artist)
    loaded = load_piece(make_firing(artist), piece=waiting.piece)
    waiting.refresh_from_db()
    assert waiting.loaded == loaded


@pytest.mark.django_db
def test_what_is_taken_out_of_a_load_waits_again(artist: Person) -> None:
    waiting = waits(artist)
    firing = make_firing(artist)
    piece_remove(loaded=load_piece(firing, piece=waiting.piece), by=firing.fired_by)
    waiting.refresh_from_db()
    assert (waiting.loaded, waiting.withdrawn_at) == (None, None)
    assert list(pieces_waiting()) == [waiting]


@pytest.mark.django_db
def test_what_was_put_on_the_list_anew_waits_once(artist: Person) -> None:
    first = waits(artist)
    loaded = load_piece(make_firing(artist), piece=first.piece)
    second = piece_wait(
        maker=artist, piece=first.piece, glass=first.glass, process="slump", thickest_mm=6.0
    )
    piece_remove(loaded=loaded, by=loaded.piece.maker)
    assert list(pieces_waiting()) == [second]


@pytest.mark.django_db
def test_pieces_of_a_firing_that_was_called_off_wait_again(artist: Person) -> None:
    waiting, firing = waits(artist), make_firing(artist)
    load_piece(firing, piece=waiting.piece)
    assert not pieces_waiting().exists()
    firing_call_off(firing=firing, by=firing.fired_by)
    assert list(pieces_waiting()) == [waiting]


@pytest.mark.django_db
def test_what_would_fit_stands_at_the_load(artist: Person, signed_in: SignIn) -> None:
    kiln, glass = make_kiln(), make_glass()
    revision = make_revision(make_schedule(artist, family=glass.family))
    firing = make_firing(artist, kiln=kiln, revision=revision)
    load_piece(firing, glass=glass, length_mm=200.0, width_mm=180.0)
    waits(artist, "Fits", glass=glass)
    waits(artist, "Too thick", glass=glass, thickest_mm=9.0)
    waits(artist, "Too large", glass=glass, length_mm=480.0, width_mm=430.0)
    waits(artist, "Slumped", glass=glass, process="slump")
    page = signed_in(artist).get(reverse("firings:load_edit", args=[firing.pk]))
    assert [each.piece.title for each in page.context["fitting"]] == ["Fits"]
    assert "Fits" in page.text


@pytest.mark.django_db
def test_a_load_of_them_is_what_the_kiln_can_fire(artist: Person, signed_in: SignIn) -> None:
    glass, client = make_glass(), signed_in(artist)
    hot = make_revision(make_schedule(artist, family=glass.family), [("150", "1100", 10)])
    kiln = make_kiln(max_temperature_c=900.0)
    first, slumped = waits(artist, glass=glass), waits(artist, glass=glass, process="slump")
    where = f"/waiting/load/?piece={first.pk}&piece={slumped.pk}"
    given = {"pieces": [first.pk, slumped.pk], "kiln": kiln.pk, "revision": hot.pk}
    errors = client.post(where, given).context["form"].errors
    assert errors["pieces"] == ["One load has one process, and glass of one family."]
    assert "900" in errors["revision"][0]
    assert not Firing.objects.exists()


@pytest.mark.django_db
def test_a_piece_waits_in_the_family_that_it_was_fired_as(
    artist: Person, signed_in: SignIn
) -> None:
    fired = load_piece(make_firing(artist), glass=make_glass()).piece
    other = make_glass(family=make_family("float", expansion=86.0))
    given = {"piece": fired.pk, "maker": artist.pk, "process": "slump", "glass": other.pk,
             "layers": "1", "thickest_mm": "6"}  # fmt: skip
    page = signed_in(artist).post("/waiting/add/", given)
    assert "This piece was fired as soft 90" in page.text
    assert not WaitingPiece.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_load_the_same_piece_at_once(artist: Person) -> None:
    glass = make_glass()
    revision = make_revision(make_schedule(artist, family=glass.family))
    kilns = [make_kiln("Heron"), make_kiln("Wren")]
    waiting = waits(artist, glass=glass)
    other = make_person("wilf")

    def load(number: int) -> object:
        return waiting_load(
            waiting=[waiting.pk],
            kiln=kilns[number],
            revision=revision,
            by=(artist, other)[number],
        )

    answers = at_once(load, range(2))
    told = [each for each in answers if isinstance(each, NotWaitingError)]
    assert len(told) == 1, answers
    assert told[0].messages == ["“Tide bowl” waits no longer."]
    assert Firing.objects.count() == 1
    assert Piece.objects.get().firings.count() == 1


@pytest.mark.django_db
def test_list_asks_as_often_for_one_as_for_many(artist: Person, signed_in: SignIn) -> None:
    client, glass = signed_in(artist), make_glass()
    make_kiln()

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(LIST)
        return len(queries)

    waits(artist, glass=glass)
    asked()
    few = asked()
    for number in range(5):
        waits(make_person(f"p{number}"), f"Piece {number}", glass=glass)
    assert asked() == few
