"""A load into which several people scan tickets."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.actions.labels import piece_labels_ready
from firings.actions.load import piece_load, piece_remove
from firings.actions.loading import piece_scan
from firings.actions.waiting import piece_wait, waiting_withdraw
from firings.models import Firing, Label, LoadedPiece, Piece
from firings.queries.waiting import pieces_waiting
from studio.models import GlassKind, LotLabel, Person
from tests.at_once import at_once
from tests.factories import (
    load_piece,
    make_family,
    make_firing,
    make_glass,
    make_kiln,
    make_lot,
    make_person,
    make_revision,
    make_schedule,
)

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def glass(db: None) -> GlassKind:
    return make_glass()


@pytest.fixture
def firing(instructor: Person, glass: GlassKind) -> Firing:
    schedule = make_schedule(instructor, family=glass.family)
    return make_firing(instructor, revision=make_revision(schedule), title="Class of May")


def ticket(maker: Person, glass: GlassKind, title: str = "Tide bowl", **facts: Any) -> str:
    """The code of the ticket of a piece that waits for a kiln."""
    usual = {"process": "full_fuse", "layers": 3, "thickest_mm": 9.0, "length_mm": 120.0}
    waiting = piece_wait(maker=maker, title=title, glass=glass, **usual | facts)
    return piece_labels_ready(pieces=[waiting.piece])[0].code


def address(firing: Firing) -> str:
    return reverse("firings:load_together", args=[firing.pk])


def scan(browser: Client, firing: Firing, code: str) -> str:
    """What is said beside the field, as the page's script gets it."""
    headers = {"HX-Request": "true"}
    return browser.post(address(firing), {"code": code}, headers=headers).text


def test_a_ticket_puts_its_piece_in_as_it_waits(
    firing: Firing, student: Person, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    code = ticket(student, glass)

    page = signed_in(instructor).post(address(firing), {"code": code}, follow=True)

    assert "“Tide bowl” is in." in page.text
    loaded = firing.load.get()
    assert (loaded.glass, loaded.layers, loaded.thickest_mm) == (glass, 3, 9.0)
    assert (loaded.put_in_by, loaded.is_served) == (instructor, True)
    assert f"put in by Oona, {timezone.localtime(loaded.put_in_at):%H:%M}" in page.text
    assert not pieces_waiting().exists()


def test_a_piece_that_does_not_wait_goes_in_as_it_was_fired_last(
    firing: Firing, artist: Person, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    other = make_glass(colour="amber")
    before = load_piece(make_firing(artist, state="opened"), glass=glass, wanted="flat")
    before.other_glasses.add(other)
    (label,) = piece_labels_ready(pieces=[before.piece])

    assert "is in." in scan(signed_in(instructor), firing, label.code)

    again = firing.load.get()
    assert (again.piece, again.thickest_mm, again.wanted) == (before.piece, 6.0, "")
    assert list(again.other_glasses.all()) == [other]


@pytest.mark.parametrize(
    "typed",
    [
        "{code}",
        " {upper} ",
        "http://studio.example/p/{code}/",
        "HTTP://STUDIO.EXAMPLE/P/{upper}/",
        "/p/{code}",
    ],
)
def test_a_scanner_types_it_in_its_own_way(
    typed: str, firing: Firing, student: Person, instructor: Person, glass: GlassKind,
    signed_in: SignIn,
) -> None:  # fmt: skip
    code = ticket(student, glass)
    said = scan(signed_in(instructor), firing, typed.format(code=code, upper=code.upper()))
    assert "“Tide bowl” is in." in said


def test_what_cannot_go_in_is_told_beside_the_field(
    firing: Firing, student: Person, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    client = signed_in(instructor)
    kiln = Label.objects.create(kiln=firing.kiln)
    lot = LotLabel.objects.create(lot=make_lot(instructor, glass))
    strange = make_glass(family=make_family("float", expansion=86.0))
    elsewhere = load_piece(make_firing(student, kiln=make_kiln("Wren"), title="Ebb")).piece
    code = ticket(student, glass, "Weir")
    scan(client, firing, code)
    told = {
        "": "Scan a ticket, or key its ten signs.",
        "nonsense": "“nonsense” is on no ticket of this studio.",
        reverse("firings:kiln_code", args=[kiln.code]): "the label of a kiln, not a piece’s",
        reverse("studio:lot_code", args=[lot.code]): "the label of a lot of glass, not",
        code: "“Weir” is in this load already.",
        piece_labels_ready(pieces=[elsewhere])[0].code: "in another load: “Ebb” in Wren",
        ticket(student, strange, "Pane"): "“Pane” is of float; this schedule is written for soft",
    }
    for typed, words in told.items():
        assert words in scan(client, firing, typed).replace("&quot;", '"'), typed
        page = client.post(address(firing), {"code": typed})
        assert words in page.text
        assert page.context["form"]["code"].value() == typed
    assert [each.piece.title for each in firing.load.all()] == ["Weir"]


def test_of_others_only_who_may_write_for_them(
    firing: Firing, student: Person, artist: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    code = ticket(student, glass)
    assert "“Tide bowl” by Ravi isn’t yours to put in" in scan(signed_in(artist), firing, code)
    kept = load_piece(make_firing(student, state="opened", is_private=True), title="Secret").piece
    said = scan(signed_in(artist), firing, piece_labels_ready(pieces=[kept])[0].code)
    assert "That piece isn’t yours to put in" in said
    assert "Secret" not in said
    assert "is in." in scan(signed_in(student), firing, code)


def test_a_firing_that_was_started_takes_none(
    firing: Firing, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    Firing.objects.filter(pk=firing.pk).update(state="firing", started_at=timezone.now())
    code = ticket(instructor, glass)
    client = signed_in(instructor)
    assert "This firing was started already" in scan(client, firing, code)
    assert "This firing was started already" in client.post(
        address(firing), {"code": code}, follow=True
    ).text  # fmt: skip
    assert 'name="code"' not in client.get(address(firing)).text
    Firing.objects.filter(pk=firing.pk).update(state="opened", opened_at=timezone.now())
    assert client.get(address(firing)).headers["Location"].endswith("/load/")


def test_the_last_scan_is_taken_back(
    firing: Firing, student: Person, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    """By whoever put it in, also where they may change neither the piece nor the firing."""
    Firing.objects.update(fired_by=make_person("mads", role="keeper"))
    Firing.objects.update(written_by=firing.fired_by)
    browser = signed_in(student)
    scan(browser, firing, ticket(student, glass))
    remove = reverse("firings:piece_remove", args=[firing.load.get().pk])

    page = browser.post(remove, {"back": "together"}, follow=True)

    assert "“Tide bowl” was taken out of the load." in page.text
    assert page.request["PATH_INFO"] == address(firing)
    assert pieces_waiting().get().piece.title == "Tide bowl"


def test_whoever_put_it_in_may_take_it_out_until_the_start(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    other = make_person("sten", role="instructor")
    firing = make_firing(make_person("tove", role="student"))
    loaded = piece_load(firing=firing, maker=student, title="Weir", by=other)
    remove = reverse("firings:piece_remove", args=[loaded.pk])
    assert signed_in(instructor).post(remove).status_code == 302  # of a student without a class
    loaded = piece_load(firing=firing, maker=student, title="Weir", by=other)
    remove = reverse("firings:piece_remove", args=[loaded.pk])
    artist = make_person("wilf", role="artist")
    assert signed_in(artist).post(remove).status_code == 403
    LoadedPiece.objects.update(put_in_by=artist)
    Firing.objects.update(state="firing", started_at=timezone.now())
    assert signed_in(artist).post(remove).status_code == 403
    Firing.objects.update(state="planned")
    assert signed_in(artist).post(remove).status_code == 302


def test_a_piece_with_a_ticket_outlives_being_taken_out(
    firing: Firing, student: Person, glass: GlassKind
) -> None:
    """Its label is stuck on, and leads to it."""
    code = ticket(student, glass)
    piece = Piece.objects.get()
    waiting_withdraw(waiting=piece.waits.get())
    loaded = piece_scan(firing=firing, piece=piece, by=student)
    piece_remove(loaded=loaded, by=student)
    assert Label.objects.get(code=code).piece == piece


def test_the_list_is_asked_for_again_and_again(
    firing: Firing, student: Person, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    browser = signed_in(instructor)
    first = browser.get(address(firing), headers={"HX-Request": "true"})
    assert "<html" not in first.text
    known = {"HX-Request": "true", "If-None-Match": first.headers["ETag"]}
    assert browser.get(address(firing), headers=known).status_code == 304
    assert first.headers["ETag"] in browser.get(address(firing)).text
    scan(signed_in(student), firing, ticket(student, glass))
    again = browser.get(address(firing), headers=known)
    assert "Tide bowl" in again.text
    assert again.headers["ETag"] != first.headers["ETag"]


def test_a_kept_load_shows_each_their_own(
    firing: Firing, student: Person, artist: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    Firing.objects.update(is_private=True)
    load_piece(firing, title="Secret")
    scan(signed_in(student), firing, ticket(student, glass))
    page = signed_in(student).get(address(firing)).text
    assert "Tide bowl" in page
    assert "Secret" not in page
    assert "It is kept by Oona." in signed_in(artist).get(address(firing)).text


def test_more_pieces_ask_no_more_queries(
    firing: Firing, instructor: Person, signed_in: SignIn
) -> None:
    browser = signed_in(instructor)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            browser.get(address(firing))
        return len(caught)

    load_piece(firing)
    queries()
    before = queries()
    for n in range(6):
        load_piece(firing, title=f"Piece {n}", maker=make_person(f"maker{n}"))
    assert queries() == before


def test_a_tickets_page_offers_what_is_being_loaded(
    firing: Firing, student: Person, instructor: Person, glass: GlassKind, signed_in: SignIn
) -> None:
    code = ticket(student, glass)
    browser = signed_in(student)
    page = reverse("firings:piece_code", args=[code])
    assert "Put it in now" not in browser.get(page, follow=True).text  # nobody loads anything
    load_piece(firing, put_in_by=instructor, put_in_at=timezone.now() - timedelta(minutes=20))
    shown = browser.get(page, follow=True)
    assert "Heron is loaded for “Class of May”" in shown.text
    assert f'action="{address(firing)}"' in shown.text
    other = signed_in(make_person("wilf", role="artist")).get(page, follow=True)
    assert "Put it in now" not in other.text  # not theirs
    browser.post(address(firing), {"code": code})
    assert firing.load.filter(piece__title="Tide bowl").exists()
    assert "Put it in now" not in browser.get(page, follow=True).text  # it is in


@pytest.mark.parametrize(
    ("hours", "facts", "offered"),
    [(10, {}, True), (14, {}, False), (-20, {}, True), (-30, {}, False),
     (10, {"process": "slump"}, False)],
)  # fmt: skip
def test_what_is_about_to_start_is_offered_to_what_goes_into_it(
    hours: int, facts: dict[str, str], offered: bool, firing: Firing, student: Person,
    glass: GlassKind, signed_in: SignIn,
) -> None:  # fmt: skip
    Firing.objects.update(planned_start=timezone.now() + timedelta(hours=hours))
    code = ticket(student, glass, **facts)
    page = signed_in(student).get(reverse("firings:piece_code", args=[code]), follow=True)
    assert ("Put it in now" in page.text) == offered


@pytest.mark.django_db(transaction=True)
def test_a_ticket_scanned_by_several_at_once_goes_in_once() -> None:
    glass, kiln = make_glass(), make_kiln()
    oona, mads = make_person("oona", role="instructor"), make_person("mads", role="keeper")
    revision = make_revision(make_schedule(oona, family=glass.family))
    firings = [
        make_firing(oona, revision=revision, kiln=kiln),
        make_firing(mads, revision=revision, kiln=make_kiln("Wren")),
    ]
    ticket(oona, glass)
    piece = Piece.objects.get()

    def scanned(place: int) -> LoadedPiece:
        return piece_scan(firing=firings[place % 2], piece=piece, by=(oona, mads)[place // 2])

    answers = at_once(scanned, [0, 1, 2, 3])

    assert LoadedPiece.objects.count() == 1
    told = [each for each in answers if isinstance(each, ValidationError)]
    assert sorted(each.code for each in told) == ["elsewhere", "elsewhere", "here"]
