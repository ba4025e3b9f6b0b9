from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from studio.models import Person
from tests.factories import make_family, make_glass


@pytest.fixture
def shelf(db: None) -> None:
    make_glass(colour="sea green", code="M-014", maker="Millrace mill")
    make_glass(colour="white", form="frit", thickness_mm=None, note="turns grey when stretched")
    make_glass(colour="rust red", family=make_family("hard 96"))
    make_glass(colour="old blue", archived_at=timezone.now())


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", ["rust red", "sea green", "white"]),
        ("?form=frit", ["white"]),
        ("?words=SEA+mill", ["sea green"]),
        ("?words=m-014", ["sea green"]),
        ("?words=stretched", ["white"]),
        ("?words=hard", ["rust red"]),
        ("?words=sea+red", []),
        ("?archived=on", ["old blue"]),
        ("?form=brick", ["rust red", "sea green", "white"]),
        ("?family=nonsense", ["rust red", "sea green", "white"]),
        ("?page=99", ["rust red", "sea green", "white"]),
    ],
)
def test_glass_is_found(
    query: str,
    found: list[str],
    shelf: None,
    artist: Person,
    signed_in: Callable[[Person], Client],
) -> None:
    response = signed_in(artist).get(f"/glass/{query}")

    assert [kind.colour for kind in response.context["page"]] == found
    assert ("No such glass" in response.text) == (not found)


def test_family_filters(shelf: None, artist: Person, signed_in: Callable[[Person], Client]) -> None:
    family = make_family("hard 96")

    response = signed_in(artist).get(f"/glass/?family={family.pk}")

    assert [kind.colour for kind in response.context["page"]] == ["rust red"]


def test_fragment_is_the_pages_own_rows(
    shelf: None, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(artist)

    page = browser.get("/glass/?form=frit")
    fragment = browser.get("/glass/?form=frit", headers={"HX-Request": "true"})

    assert fragment.text.lstrip().startswith('<section class="card" id="glass-rows"')
    assert "<html" not in fragment.text
    assert fragment.text.strip() in page.text
    assert "HX-Request" in page.headers["Vary"]


def test_going_back_brings_the_whole_page(
    shelf: None, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    headers = {"HX-Request": "true", "HX-History-Restore-Request": "true"}

    response = signed_in(artist).get("/glass/?words=sea", headers=headers)

    assert "<html" in response.text
    assert 'value="sea"' in response.text


def test_rows_cost_no_queries(
    artist: Person,
    signed_in: Callable[[Person], Client],
    django_assert_num_queries: DjangoAssertNumQueries,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    browser = signed_in(artist)
    make_glass()
    browser.get("/glass/")
    with django_assert_max_num_queries(12) as few:
        browser.get("/glass/")
    with django_assert_max_num_queries(12) as few_families:
        browser.get("/glass/families/")

    for number in range(12):
        make_glass(colour=f"colour {number}", family=make_family(f"family {number}"))

    with django_assert_num_queries(len(few)):
        browser.get("/glass/")
    with django_assert_num_queries(len(few_families)):
        browser.get("/glass/families/")
