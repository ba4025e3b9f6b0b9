"""What a year cost, for keepers, on the year's page and as CSV."""

import csv
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.queries.costs import costs_of, firings_for_costs
from firings.queries.year_costs import year_costs
from studio.models import Kiln, Person, Studio
from tests.factories import load_piece, make_firing, make_kiln, make_prices

pytestmark = pytest.mark.django_db


def fired(person: Person, kiln: Kiln, month: int) -> None:
    start = datetime(2026, month, 11, 8, tzinfo=UTC)
    firing = make_firing(
        person,
        kiln=kiln,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=20),
        energy_kwh=Decimal(10),
    )
    load_piece(firing, length_mm=150, width_mm=150)


@pytest.fixture
def two_kilns(artist: Person) -> None:
    make_prices(valid_from=date(2026, 1, 1))
    heron, wren = make_kiln(), make_kiln("Wren")
    for month in (2, 3):
        fired(artist, heron, month)
    fired(artist, wren, 3)


def test_kilns_and_months_each_add_up_to_the_year(two_kilns: None) -> None:
    costs = year_costs(2026)
    assert [name for name, _ in costs.kilns] == ["Heron", "Wren"]
    assert [(day.month, row.firings) for day, row in costs.months] == [(2, 1), (3, 2)]
    # Of each 10 kWh × 0.31 + wear of 1.50, and the hours for which the kiln was taken.
    assert costs.whole.parts["energy"] == Decimal("9.30")
    assert costs.whole.parts["wear"] == Decimal("4.50")
    for rows in (costs.kilns, costs.months):
        assert sum(row.total for _, row in rows) == costs.whole.total
        assert sum(row.charged for _, row in rows) == costs.whole.charged > 0


def test_a_year_is_charged_what_its_makers_are(two_kilns: None, artist: Person) -> None:
    loads = costs_of(firings_for_costs())
    charged = sum(part.bill.total for each in loads for part in each.parts)
    assert year_costs(2026).whole.charged == charged > 0


def test_what_had_no_prices_is_counted_apart(artist: Person) -> None:
    make_prices(valid_from=date(2026, 3, 1))
    kiln = make_kiln()
    for month in (2, 3):
        fired(artist, kiln, month)
    costs = year_costs(2026)
    assert (costs.whole.firings, costs.whole.unpriced) == (2, 1)
    assert costs.months[0][1].total == 0


def test_keepers_alone_see_it(
    two_kilns: None, keeper: Person, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    address, of_year = reverse("firings:year"), {"year": 2026}
    assert "What it cost" in signed_in(keeper).get(address, of_year).text
    assert "What it cost" not in signed_in(artist).get(address, of_year).text
    page = signed_in(keeper).get(reverse("firings:year_costs"), of_year).text
    assert str(year_costs(2026).whole.charged) in page
    assert signed_in(artist).get(reverse("firings:year_costs"), of_year).status_code == 403


def test_saved_as_it_is_shown(
    two_kilns: None, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    saved = signed_in(keeper).get(reverse("firings:year_costs_csv"), {"year": 2026})
    rows = list(csv.DictReader(b"".join(saved).decode("utf-8-sig").splitlines()))  # type: ignore[arg-type]
    whole = year_costs(2026).whole
    for by in ("kiln", "month"):
        assert sum(Decimal(row["cost"]) for row in rows if row["by"] == by) == whole.total


def test_queries_stay_with_more_firings(
    two_kilns: None, artist: Person, django_assert_max_num_queries: Any
) -> None:
    Studio.current()
    with django_assert_max_num_queries(10):
        year_costs(2026)
    kiln = make_kiln("Bittern")
    for month in (4, 5, 6):
        fired(artist, kiln, month)
    with django_assert_max_num_queries(10):
        year_costs(2026)


@pytest.mark.parametrize("asked", ["", "1", "99999999"])
def test_a_year_without_firings_is_the_latest_instead(
    two_kilns: None, keeper: Person, signed_in: Callable[[Person], Client], asked: str
) -> None:
    page = signed_in(keeper).get(reverse("firings:year_costs"), {"year": asked})
    assert page.context["costs"].year == timezone.localdate().year


def test_an_empty_year_says_so(keeper: Person, signed_in: Callable[[Person], Client]) -> None:
    page = signed_in(keeper).get(reverse("firings:year_costs")).text
    assert "was opened yet" in page
    assert "No prices stood" not in page
