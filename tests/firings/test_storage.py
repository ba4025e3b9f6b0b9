"""Finished pieces on the storage shelves: put there, kept for a time, collected or gone."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions.load import piece_load
from firings.actions.storage import piece_store, stay_end
from firings.models import Piece, StoredPiece
from firings.queries.storage import stays, stays_of
from studio.actions.people import LEFT, person_deactivate, person_make_anonymous
from studio.models import Person
from tests.at_once import at_once
from tests.factories import load_piece, make_firing

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def piece(student: Person) -> Piece:
    return load_piece(make_firing(student, state="opened")).piece


def test_what_is_due_first_comes_first(piece: Piece, student: Person, keeper: Person) -> None:
    today = timezone.localdate()
    other = Piece.objects.create(title="Later", maker=student)
    piece_store(piece=other, by=keeper, place="shelf C")
    piece_store(piece=piece, by=keeper, place="shelf C", keep_until=today + timedelta(days=2))
    found = stays(keeper, today + timedelta(days=3))
    assert [(each.row.piece, each.days_left) for each in found] == [(piece, -1), (other, None)]
    assert found[0].is_overdue
    assert not found[1].is_overdue


def test_put_there_again_it_is_moved(piece: Piece, keeper: Person) -> None:
    piece_store(piece=piece, by=keeper, place="shelf C")
    piece_store(piece=piece, by=keeper, place="shelf D")
    assert StoredPiece.objects.get().place == "shelf D"


def test_maker_sees_it_on_the_front_page_and_takes_it(
    piece: Piece, student: Person, keeper: Person, signed_in: SignedIn
) -> None:
    stay = piece_store(piece=piece, by=keeper, place="shelf C")
    browser = signed_in(student)
    assert "To be collected" in browser.get(reverse("firings:today")).text
    browser.post(reverse("firings:stay_end", args=[stay.pk]), {"how": "collected"})
    stay.refresh_from_db()
    assert (stay.ended_how, stay.ended_by) == ("collected", student)
    assert not stays_of(student)
    page = browser.get(reverse("firings:piece_detail", args=[piece.pk])).text
    assert "Collected" in page


def test_an_instructor_discards_nobodys_piece_but_a_keeper_may(
    piece: Piece, instructor: Person, keeper: Person, signed_in: SignedIn
) -> None:
    stay = piece_store(piece=piece, by=keeper, place="shelf C")
    address = reverse("firings:stay_end", args=[stay.pk])
    refused = signed_in(instructor).post(address, {"how": "discarded"})
    assert "not one of the available choices" in refused.text
    signed_in(keeper).post(address, {"how": "discarded"})
    stay.refresh_from_db()
    assert stay.ended_how == "discarded"


def test_what_is_fired_again_lies_there_no_longer(
    piece: Piece, student: Person, keeper: Person
) -> None:
    stay = piece_store(piece=piece, by=keeper, place="shelf C")
    piece_load(firing=make_firing(student), maker=student, piece=piece)
    stay.refresh_from_db()
    assert (stay.ended_how, stay.ended_by) == ("fired_again", student)


def test_a_past_day_and_nobody_to_hand_over_to_are_told(
    piece: Piece, keeper: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(keeper)
    address = reverse("firings:piece_store", args=[piece.pk])
    page = browser.post(address, {"place": "shelf C", "keep_until": "2020-01-01"}).text
    assert "That day is past" in page
    assert 'value="shelf C"' in page
    stay = piece_store(piece=piece, by=keeper, place="shelf C")
    page = browser.post(reverse("firings:stay_end", args=[stay.pk]), {"how": "handed_over"}).text
    assert "Write to whom" in page


def test_who_left_is_made_anonymous_once_their_pieces_are_settled(
    piece: Piece, student: Person, keeper: Person
) -> None:
    stay = piece_store(piece=piece, by=keeper, place="shelf C")
    person_deactivate(person=student)
    with pytest.raises(ValidationError, match=piece.title):
        person_make_anonymous(person=student)
    stay_end(stay=stay, by=keeper, how="handed_over", to_whom="a sister")
    person_make_anonymous(person=student)
    student.refresh_from_db()
    assert student.name == LEFT


@pytest.mark.django_db(transaction=True)
def test_of_two_who_take_it_at_once_one_is_told(keeper: Person, student: Person) -> None:
    piece = Piece.objects.create(title="Tile", maker=student)
    stay = piece_store(piece=piece, by=keeper, place="shelf C")
    told = at_once(lambda _: stay_end(stay=stay, by=keeper, how="collected"), range(2))
    assert [isinstance(each, ValidationError) for each in told].count(True) == 1


def test_a_kept_piece_is_on_nobody_elses_list(
    student: Person, artist: Person, keeper: Person
) -> None:
    kept = load_piece(make_firing(artist, state="opened", is_private=True)).piece
    piece_store(piece=kept, by=artist, place="shelf C")
    assert not stays(student)
    assert len(stays(keeper)) == 1
