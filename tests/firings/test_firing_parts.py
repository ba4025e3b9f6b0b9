"""The parts of the firing page that show what was loaded, seen, photographed and keyed."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.actions.photographs import photographs_add
from firings.models import Fault, Firing, FiringEvent, KeyedDifference, Moment, Photograph
from firings.queries.record import firing_for_page
from studio.models import Person
from studio.pictures import prepare_picture
from tests.factories import load_piece, make_firing, make_glass, make_person, make_place
from tests.firings.pictures import picture_file

SignedIn = Callable[[Person], Client]
COLOURS = ("red", "green", "blue", "teal", "orange", "navy", "olive", "gray")


def page_of(browser: Client, firing: Firing) -> str:
    answer = browser.get(reverse("firings:firing_detail", args=[firing.pk]))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def photographed(firing: Firing, by: Person, colour: str, **facts: Any) -> Photograph:
    picture = prepare_picture(picture_file(colour=colour, side=16).file)
    [photograph] = photographs_add(firing=firing, by=by, pictures=[picture], **facts)
    return photograph


def test_piece_shows_its_facts_its_verdict_and_its_faults(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    loaded = load_piece(
        firing,
        glass=make_glass(),
        place=make_place(firing.kiln),
        wanted="flat",
        thinnest_mm=3.0,
        verdict=-1,
        length_after_mm=212.0,
    )
    Fault.objects.create(loaded_piece=loaded, kind="stuck_wash", severity=1, noted_by=artist)
    page = page_of(signed_in(artist), firing)
    for words in (
        "3 to 6 mm, 2 layers",
        "sea green sheet 3 mm, soft 90",
        "a touch short",
        "Wash stuck on the back",
        "Afterwards 212 mm",
        "the schedule serves it",
    ):
        assert words in page


def test_unjudged_piece_says_so_and_never_as_wanted(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    load_piece(firing)
    page = page_of(signed_in(artist), firing)
    assert "not judged yet" in page
    assert "<span>as wanted</span>" not in page


def test_reader_who_may_not_judge_or_change_gets_no_buttons(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    loaded = load_piece(firing)
    mine = page_of(signed_in(artist), firing)
    theirs = page_of(signed_in(make_person("lund", role="student")), firing)
    for view, pk in (
        ("piece_judge", loaded.pk),
        ("piece_edit", loaded.pk),
        ("event_add", firing.pk),
        ("keyed_edit", firing.pk),
        ("photograph_add", firing.pk),
    ):
        address = reverse(f"firings:{view}", args=[pk])
        assert address in mine
        assert address not in theirs


def test_photographs_come_before_loaded_after(artist: Person) -> None:
    firing = make_firing(artist, state="opened")
    for moment, colour in (
        (Moment.AFTER, "red"),
        (Moment.BEFORE, "green"),
        (Moment.LOADED, "blue"),
    ):
        photographed(firing, artist, colour, moment=moment)
    shown = [each.moment for each in firing_for_page(firing.pk).photographs.all()]
    assert shown == ["before", "loaded", "after"]


@pytest.mark.parametrize(
    ("position", "part", "value", "words"),
    [
        (1, "rate", None, "<b>full power</b> instead of 150 °C/h"),
        (4, "rate", Decimal(500), "<b>500</b> instead of full power °C/h"),
        (3, "target", Decimal("810.5"), "<b>810.5</b> instead of 804 °C"),
        (3, "hold", Decimal(75), "<b>1 h 15</b> instead of 10 min"),
    ],
)
def test_what_was_keyed_differently_is_said_in_words(
    artist: Person,
    signed_in: SignedIn,
    position: int,
    part: str,
    value: Decimal | None,
    words: str,
) -> None:
    firing = make_firing(artist, state="opened")
    KeyedDifference.objects.create(firing=firing, position=position, part=part, value=value)
    assert words in page_of(signed_in(artist), firing)


def test_firing_keeps_its_query_count_whatever_it_holds(artist: Person) -> None:
    firing = make_firing(artist, state="opened")

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            page = firing_for_page(firing.pk)
            for loaded in page.load.all():
                str((loaded.piece.maker, loaded.glass and loaded.glass.family, loaded.place))
                list(loaded.faults.all())
            for photograph in page.photographs.all():
                str(
                    (photograph.taken_by, photograph.loaded_piece and photograph.loaded_piece.piece)
                )
            for event in page.events.all():
                str(event.noted_by)
            list(page.keyed_differences.all())
            list(page.revision.segments.all())
        return len(seen)

    def add(number: int) -> None:
        loaded = load_piece(
            firing,
            title=f"Piece {number}",
            glass=make_glass(),
            place=make_place(firing.kiln, f"{number}"),
        )
        Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=artist)
        photographed(firing, artist, COLOURS[number], loaded_piece=loaded)
        FiringEvent.objects.create(firing=firing, kind="vented", noted_by=artist)

    add(0)
    before = queries()
    for number in range(1, 6):
        add(number)
    assert queries() == before
