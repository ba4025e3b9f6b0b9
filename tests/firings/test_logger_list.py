"""The page of a kiln's loggers: a token is made, shown once, and taken back."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions.logger import logger_token_of
from firings.models import LoggerToken
from studio.models import Kiln, Person
from tests.factories import make_firing, make_kiln
from tests.firings.sending import Logger

SignedIn = Callable[[Person], Client]


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def address(kiln: Kiln) -> str:
    return reverse("firings:logger_list", args=[kiln.pk])


def given_on(page: str) -> str:
    return page.partition('id="given" readonly value="')[2].partition('"')[0]


def test_a_token_is_shown_once_and_kept_nowhere(
    kiln: Kiln, address: str, keeper: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(keeper)
    answer = browser.post(address, {"name": "Bench logger", "form_key": str(uuid.uuid4())})
    assert answer["Location"] == address

    given = given_on(browser.get(address).content.decode())

    assert given_on(browser.get(address).content.decode()) == ""
    token = LoggerToken.objects.get()
    assert logger_token_of(given) == token
    assert given.partition(".")[2] not in token.digest
    assert all("logger_token" not in each.get_decoded() for each in Session.objects.all())
    assert "no-store" in browser.get(address)["Cache-Control"]


def test_the_form_sent_twice_makes_one(
    kiln: Kiln, address: str, keeper: Person, signed_in: SignedIn
) -> None:
    """And whichever answer the browser follows shows the token."""
    browser, form = signed_in(keeper), {"name": "Bench logger", "form_key": str(uuid.uuid4())}
    browser.post(address, form)

    assert browser.post(address, form)["Location"] == address
    assert LoggerToken.objects.count() == 1
    assert logger_token_of(given_on(browser.get(address).content.decode())) is not None


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", "This field is required."),
        ("x" * 61, "at most 60 characters"),
        ("Bench logger", "This kiln has a logger of that name."),
    ],
)
def test_a_bad_name_is_told_at_its_field(
    kiln: Kiln, address: str, keeper: Person, signed_in: SignedIn, name: str, words: str
) -> None:
    Logger(kiln, keeper, "Bench logger")

    page = signed_in(keeper).post(address, {"name": name}).content.decode()

    assert words in page
    assert f'value="{name}"' in page or not name
    assert LoggerToken.objects.count() == 1


def test_taken_back_it_is_good_for_nothing_and_its_name_is_free(
    kiln: Kiln, address: str, keeper: Person, signed_in: SignedIn
) -> None:
    logger, browser = Logger(kiln, keeper), signed_in(keeper)

    page = browser.post(
        reverse("firings:logger_take_back", args=[logger.token.pk]), follow=True
    ).content.decode()

    assert "can send nothing any more" in page
    assert "taken back" in page
    assert logger_token_of(logger.given) is None
    browser.post(address, {"name": "Bench logger", "form_key": str(uuid.uuid4())})
    assert LoggerToken.objects.filter(taken_back_at=None).count() == 1


def test_others_see_the_loggers_and_no_buttons(
    kiln: Kiln, address: str, keeper: Person, artist: Person, signed_in: SignedIn
) -> None:
    logger = Logger(kiln, keeper)
    firing = make_firing(artist, kiln=kiln, state="firing")
    logger.send((timezone.now(), 512.0))

    page = signed_in(artist).get(address).content.decode()

    assert "Bench logger" in page
    assert "may send" in page
    assert "512 °C at" in page
    assert reverse("firings:firing_now", args=[firing.pk]) in page
    assert "Make a token" not in page
    assert "30 days" in page


def test_the_kilns_page_leads_there(
    kiln: Kiln, address: str, artist: Person, signed_in: SignedIn
) -> None:
    page = signed_in(artist).get(reverse("studio:kiln_detail", args=[kiln.pk])).content.decode()

    assert f'href="{address}"' in page


def test_query_count_stays(
    kiln: Kiln,
    address: str,
    keeper: Person,
    signed_in: SignedIn,
    django_assert_num_queries: Any,
) -> None:
    browser, logger = signed_in(keeper), Logger(kiln, keeper)
    logger.send((timezone.now(), 20.0))
    with django_assert_num_queries(10):
        browser.get(address)
    for name in ("Second", "Third", "Fourth"):
        Logger(kiln, keeper, name)
    with django_assert_num_queries(10):
        browser.get(address)
