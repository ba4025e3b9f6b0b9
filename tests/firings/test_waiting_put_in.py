"""Several that wait go into a planned load at once; the list of all that wait stays short."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.actions.record import firing_call_off
from firings.actions.waiting import piece_wait, waiting_withdraw
from firings.models import Firing, WaitingPiece
from firings.queries.waiting import MOST_FITTING, would_fit
from studio.models import GlassKind, Person
from tests.factories import (
    load_piece,
    make_firing,
    make_glass,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def glass() -> GlassKind:
    return make_glass()


@pytest.fixture
def planned(artist: Person, glass: GlassKind) -> Firing:
    revision = make_revision(make_schedule(artist, family=glass.family))
    return make_firing(artist, kiln=make_kiln(), revision=revision)


def waits(maker: Person, glass: GlassKind, title: str, **facts: Any) -> WaitingPiece:
    usual = {"process": "full_fuse", "layers": 2, "thickest_mm": 6.0, "length_mm": 100.0,
             "width_mm": 90.0}  # fmt: skip
    return piece_wait(maker=maker, title=title, glass=glass, **usual | facts)


def load_page(firing: Firing) -> str:
    return reverse("firings:load_edit", args=[firing.pk])


def put_in(client: Client, firing: Firing, *ticked: WaitingPiece) -> Any:
    address = reverse("firings:waiting_put_in", args=[firing.pk])
    return client.post(address, {"waiting": [each.pk for each in ticked]}, follow=True)


def test_what_is_ticked_goes_in_at_once(
    planned: Firing, glass: GlassKind, artist: Person, signed_in: SignIn
) -> None:
    tide, ebb, left = (waits(artist, glass, title) for title in ("Tide", "Ebb", "Left"))
    client = signed_in(artist)
    page = client.get(load_page(planned)).text
    assert reverse("firings:waiting_put_in", args=[planned.pk]) in page
    assert page.count('name="waiting"') == 3

    answer = put_in(client, planned, ebb, tide)

    assert "“Ebb” and “Tide” are in the load." in answer.text
    lying = {each.piece.title: each for each in planned.load.all()}
    assert lying.keys() == {"Ebb", "Tide"}
    assert (lying["Ebb"].is_served, lying["Ebb"].glass, lying["Ebb"].length_mm) == (
        True,
        glass,
        100,
    )
    for each in (tide, ebb, left):
        each.refresh_from_db()
    assert (tide.loaded, ebb.loaded, left.loaded) == (lying["Tide"], lying["Ebb"], None)


def test_what_waits_no_longer_is_told_and_nothing_else_is_lost(
    planned: Firing, glass: GlassKind, artist: Person, signed_in: SignIn
) -> None:
    tide, ebb, gone = (waits(artist, glass, title) for title in ("Tide", "Ebb", "Gone"))
    load_piece(make_firing(artist), piece=gone.piece)
    waiting_withdraw(waiting=ebb)

    answer = put_in(signed_in(artist), planned, gone, ebb, tide)

    assert "“Tide” is in the load." in answer.text
    assert "“Gone” and “Ebb” are waiting no more; not put in." in answer.text
    assert [each.piece.title for each in planned.load.all()] == ["Tide"]


def test_nothing_ticked_is_told(planned: Firing, artist: Person, signed_in: SignIn) -> None:
    assert "Tick at least one piece." in put_in(signed_in(artist), planned).text


def test_a_student_puts_in_their_own(
    planned: Firing, glass: GlassKind, artist: Person, student: Person, instructor: Person,
    signed_in: SignIn,
) -> None:  # fmt: skip
    mine, other = waits(student, glass, "Mine"), waits(artist, glass, "Not mine")
    client = signed_in(student)
    page = client.get(load_page(planned)).text
    assert page.count('name="waiting"') == 1
    assert "Not mine" in page

    refused = put_in(client, planned, mine, other)
    assert "Select a valid choice" in refused.text
    assert not planned.load.exists()
    put_in(client, planned, mine)
    put_in(signed_in(instructor), planned, other)
    assert planned.load.count() == 2


def test_a_firing_that_was_called_off_takes_none(
    planned: Firing, glass: GlassKind, artist: Person, signed_in: SignIn
) -> None:
    tide = waits(artist, glass, "Tide")
    firing_call_off(firing=planned, by=artist)

    answer = put_in(signed_in(artist), planned, tide)

    assert "called off" in answer.text
    tide.refresh_from_db()
    assert tide.loaded is None


def test_what_would_fit_is_bounded(planned: Firing, glass: GlassKind, artist: Person) -> None:
    for number in range(MOST_FITTING + 5):
        waits(artist, glass, f"Coaster {number}", length_mm=None, width_mm=None)

    assert len(would_fit(planned)) == MOST_FITTING


def test_the_list_is_paged_and_asks_as_often_on_each_page(
    glass: GlassKind, artist: Person, signed_in: SignIn
) -> None:
    make_kiln()
    client = signed_in(artist)

    def asked(address: str) -> tuple[int, Any]:
        with CaptureQueriesContext(connection) as queries:
            page = client.get(address)
        return len(queries), page

    waits(artist, glass, "First")
    asked("/waiting/")
    few, page = asked("/waiting/")
    assert page.context["page"].paginator.num_pages == 1
    for number in range(30):  # no two of them go together
        maker = make_person(f"p{number}")
        waits(maker, glass, f"Panel {number}", length_mm=440.0, width_mm=400.0, thickest_mm=6.0)
    for number in range(12):  # all of them do
        waits(artist, glass, f"Coaster {number}", length_mm=None, width_mm=None, thickest_mm=3.0)

    many, page = asked("/waiting/")
    assert many == few
    assert page.context["page"].paginator.num_pages == 3
    assert len(page.context["page"]) == 12
    last, page = asked("/waiting/?page=3")
    assert last == few
    assert "4 more of this load" in page.text
