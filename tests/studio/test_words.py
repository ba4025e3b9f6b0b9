"""One way of looking for words, in all three lists that have it."""

from collections.abc import Callable

import pytest
from django.test import Client

from studio.models import Person
from studio.queries.words import MOST_WORDS
from tests.factories import load_piece, make_firing, make_glass, make_schedule

ADDRESSES = ["/glass/", "/schedules/", "/logbook/"]


@pytest.fixture
def reader(artist: Person, signed_in: Callable[[Person], Client]) -> Client:
    make_glass(colour="Émeraude")
    schedule = make_schedule(artist, name="Émeraude, two layers")
    assert schedule.owner == artist
    load_piece(make_firing(artist), title="Émeraude bowl")
    return signed_in(artist)


def number_found(client: Client, address: str, words: str) -> int:
    response = client.get(address, {"words": words})
    assert response.status_code == 200
    return int(response.context["page"].paginator.count)


@pytest.mark.parametrize("address", ADDRESSES)
@pytest.mark.parametrize("words", ["émeraude", "ÉMERAUDE", "Émeraude"])
def test_capitals_make_no_difference(address: str, words: str, reader: Client) -> None:
    assert number_found(reader, address, words) == 1


@pytest.mark.parametrize("address", ADDRESSES)
def test_each_word_must_be_found(address: str, reader: Client) -> None:
    assert number_found(reader, address, "émeraude zebra") == 0


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_of_words_is_still_answered(address: str, reader: Client) -> None:
    assert number_found(reader, address, "é " * 2000) == 1
    assert number_found(reader, address, "é " * MOST_WORDS + "zebra") == 1
