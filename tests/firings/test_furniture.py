"""Moulds and shelves: coats, what was fired on them, and when to wash them."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.models import Firing
from firings.queries.furniture import coats_of, furniture_rows, made_on
from firings.queries.load import load_check
from firings.queries.record import firing_for_page
from studio.actions.furniture import furniture_coat, furniture_put_away
from studio.models import KilnFurniture, Person
from tests.factories import load_piece, make_firing, make_kiln, make_revision, make_schedule

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def mould(db: None) -> KilnFurniture:
    return KilnFurniture.objects.create(name="Shallow bowl")


def fired_on(mould: KilnFurniture, person: Person, days_ago: int, process: str) -> Firing:
    start = timezone.now() - timedelta(days=days_ago)
    revision = make_revision(make_schedule(person, name=f"{process} {days_ago}", process=process))
    firing = make_firing(
        person,
        revision=revision,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=20),
    )
    load_piece(firing, lies_on=mould, title=f"{process} {days_ago}")
    load_piece(firing, lies_on=mould, title="beside it")
    return firing


def test_firings_count_from_the_latest_coat_on(mould: KilnFurniture, artist: Person) -> None:
    for days_ago, process in ((40, "full_fuse"), (20, "full_fuse"), (10, "slump")):
        fired_on(mould, artist, days_ago, process)
    never = coats_of([mould.pk])[mould.pk]
    assert (never.coat, never.firings, never.full_fuses) == (None, 3, 2)

    now = timezone.now()
    furniture_coat(furniture=mould, by=artist, coats=5, coated_at=now - timedelta(days=30))
    since = coats_of([mould.pk])[mould.pk]
    assert (since.firings, since.full_fuses, since.is_used_up) == (2, 1, True)

    furniture_coat(furniture=mould, by=artist, coats=5, coated_at=now - timedelta(days=15))
    since = coats_of([mould.pk])[mould.pk]
    assert (since.firings, since.full_fuses, since.is_used_up) == (1, 0, False)


def test_a_load_on_a_used_coat_is_told_to_wash_it(mould: KilnFurniture, artist: Person) -> None:
    def said(firing: Firing) -> list[str]:
        shown = load_check(firing_for_page(firing.pk, artist), "C").remarks.shown
        return [each.line.words for each in shown if "Wash before" in each.line.words]

    planned = make_firing(artist)
    load_piece(planned, lies_on=mould)
    assert not said(planned)
    past = fired_on(mould, artist, 5, "full_fuse")
    assert "Shallow bowl" in said(planned)[0]
    assert not said(past)  # its own fuse is no reason against itself
    furniture_coat(furniture=mould, by=artist, coats=5)
    assert not said(planned)


def test_the_form_offers_what_fits_the_kiln_and_takes_its_material(
    mould: KilnFurniture, artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    elsewhere = KilnFurniture.objects.create(
        name="Wren shelf", material="shelf", kiln=make_kiln("Wren")
    )
    address = reverse("firings:piece_add", args=[firing.pk])
    browser = signed_in(artist)
    assert elsewhere.name not in browser.get(address).text
    sent = {"title": "Bowl", "maker": artist.pk, "layers": 2, "lies_on": mould.pk}
    browser.post(address, sent)
    loaded = firing.load.get()
    assert (loaded.lies_on, loaded.mould) == (mould, "ceramic")


def test_coated_by_a_tap_and_put_away(
    mould: KilnFurniture, artist: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(artist)
    fired_on(mould, artist, 5, "full_fuse")
    page = reverse("firings:furniture_detail", args=[mould.pk])
    assert "take the coat off" in browser.get(page).text
    wrong = browser.post(reverse("firings:furniture_coat", args=[mould.pk]), {"coats": "0"})
    assert "greater than or equal to 1" in wrong.text
    browser.post(reverse("firings:furniture_coat", args=[mould.pk]), {"coats": "5"})
    assert "take the coat off" not in browser.get(page).text
    furniture_put_away(furniture=mould, away=True)
    assert not furniture_rows()
    assert "put away" in browser.get(page).text


def test_what_was_made_on_it_leaves_out_what_is_kept(
    mould: KilnFurniture, artist: Person, student: Person
) -> None:
    kept = fired_on(mould, artist, 5, "slump")
    kept.is_private = True
    kept.save()
    assert not made_on(mould, student)
    assert len(made_on(mould, artist)) == 2


def test_queries_stay_with_more(
    mould: KilnFurniture, artist: Person, django_assert_num_queries: Any
) -> None:
    fired_on(mould, artist, 5, "slump")
    with django_assert_num_queries(3):
        furniture_rows()
    for number in range(4):
        other = KilnFurniture.objects.create(name=f"Mould {number}")
        fired_on(other, artist, 10 + number, "slump")
    with django_assert_num_queries(3):
        assert len(furniture_rows()) == 5
