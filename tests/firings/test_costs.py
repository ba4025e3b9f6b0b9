"""What a firing costs, and what its makers are charged, on the pages that tell it."""

import csv
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from firings.actions.glass_use import glass_take
from firings.models import Booking, ComputedEnergy, Firing, KilnPrice, PriceList
from firings.queries.costs import FiringCosts, costs_of, firings_for_costs
from firings.queries.statements import member_month, members_month, statement_of_all
from studio.models import Person
from studio.services.stock import Rectangle
from tests.factories import (
    load_piece,
    make_class,
    make_firing,
    make_glass,
    make_kiln,
    make_lot,
    make_prices,
)

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db

START = datetime(2026, 5, 11, 8, tzinfo=UTC)
MAY = date(2026, 5, 1)


@pytest.fixture
def prices() -> PriceList:
    return make_prices(valid_from=date(2026, 1, 1))


def fired(person: Person, hours: float = 20, **overrides: Any) -> Firing:
    """In a kiln of 500 × 450 mm, opened after `hours`."""
    given = {
        "state": "opened",
        "started_at": START,
        "opened_at": START + timedelta(hours=hours),
        "energy_kwh": Decimal("12.5"),
    }
    firing = make_firing(person, **given | overrides)
    Booking.objects.filter(firing=firing).delete()
    return firing


def costs(firing: Firing) -> FiringCosts:
    (found,) = costs_of(firings_for_costs(Firing.objects.filter(pk=firing.pk)))
    return found


def test_a_worked_example(artist: Person, student: Person, prices: PriceList) -> None:
    """Two makers share a load, worked by hand.

    Energy by the meter 12.5 kWh × 0.31 = 3.875 → 3.88; the kiln 20 h × 0.40 = 8.00; wear 1.50;
    glass 21 600 of 400 000 mm² (two sheets of 500 × 400) for 48.00 = 2.592 → 2.59. Cost 15.97.

    Pieces of 300 × 150 and 150 × 100 mm on a shelf of 500 × 450: 60 000 / 225 000 = 0.2667.
    Fee: 4.00 + 0.2667 × 20 = 5.33 + 12.5 × 0.35 = 4.375 → 4.38; together 13.71. Three quarters of
    the load are the artist's: 4.00 → 3.00 and 1.00; 5.33 → 3.9975 and 1.3325: 3.99 and 1.33, and
    the coin left over to the larger remainder: 4.00; 4.38 → 3.285 and 1.095: equal remainders of
    a half, the coin to the first: 3.29 and 1.09. The artist also pays the glass.
    """
    firing = fired(artist)
    platter = load_piece(firing, length_mm=300, width_mm=150)
    load_piece(firing, maker=student, title="Tile", length_mm=150, width_mm=100)
    lot = make_lot(artist)
    glass_take(loaded=platter, kind=lot.kind, by=artist, size=Rectangle(180, 120))

    found = costs(firing)

    assert found.cost is not None
    assert [(line.code, str(line.amount)) for line in found.cost.lines] == [
        ("energy", "3.88"),
        ("kiln_hours", "8.00"),
        ("glass", "2.59"),
        ("wear_firing", "1.50"),
    ]
    assert str(found.cost.total) == "15.97"
    assert found.shelf_share == Decimal("0.2667")
    mine, theirs = found.parts
    assert (mine.maker, mine.share) == (artist, Decimal("0.75"))
    assert [str(line.amount) for line in mine.bill.lines] == ["3.00", "4.00", "3.29", "2.59"]
    assert [str(line.amount) for line in theirs.bill.lines] == ["1.00", "1.33", "1.09"]
    assert found.charged == Decimal("13.71") + Decimal("2.59")
    assert found.charged == mine.bill.total + theirs.bill.total
    assert found.unknown == ()


def test_a_cheap_firing_comes_up_to_the_least(artist: Person, prices: PriceList) -> None:
    firing = fired(artist, energy_kwh=Decimal(1))
    load_piece(firing, length_mm=50, width_mm=45)
    # 4.00 + 0.01 × 20 + 0.35 = 4.55; 1.45 more make 6.
    (part,) = costs(firing).parts
    assert [str(line.amount) for line in part.bill.lines] == ["4.00", "0.20", "0.35", "1.45"]
    assert part.bill.total == Decimal("6.00")


def test_a_kilns_own_prices_go_before_the_lists(artist: Person, prices: PriceList) -> None:
    kiln = make_kiln("Wren")
    KilnPrice.objects.create(price_list=prices, kiln=kiln, kiln_hour=Decimal("1.10"))
    found = costs(fired(artist, kiln=kiln))
    assert found.cost is not None
    assert found.cost.lines[1].amount == Decimal("22.00")


def test_prices_of_the_day_count(artist: Person, prices: PriceList) -> None:
    make_prices(valid_from=date(2026, 5, 11), per_kwh=Decimal(1))
    before = costs(fired(artist, started_at=START - timedelta(days=1)))
    after = costs(fired(artist, hours=48))
    assert before.cost is not None
    assert after.cost is not None
    assert (before.cost.lines[0].amount, after.cost.lines[0].amount) == (
        Decimal("3.88"),
        Decimal("12.50"),
    )
    assert costs(fired(artist, started_at=datetime(2025, 12, 31, 8, tzinfo=UTC))).cost is None


def test_what_is_not_known_is_said(artist: Person, prices: PriceList) -> None:
    firing = fired(artist, energy_kwh=None)
    loaded = load_piece(firing)
    lot = make_lot(artist, price=None)
    glass_take(loaded=loaded, kind=lot.kind, by=artist, size=Rectangle(180, 120))
    found = costs(firing)
    assert found.unknown == ("energy", "sizes", "glass")
    assert found.shelf_share == 1


def test_computed_energy_is_told_with_its_spread(
    artist: Person, prices: PriceList, signed_in: SignedIn
) -> None:
    firing = fired(artist, energy_kwh=None)
    ComputedEnergy.objects.create(
        firing=firing,
        kwh=20,
        least_kwh=20,
        most_kwh=20,
        relative_error=0.13,
        by="recording",
        metered=0,
    )
    page = signed_in(artist).get(reverse("firings:firing_cost", args=[firing.pk])).text
    assert "20 kWh" in page
    assert "give or take 3" in page
    assert "6.20 EUR" in page


def test_statement_adds_up_and_is_saved_as_it_is_shown(
    artist: Person, student: Person, prices: PriceList, signed_in: SignedIn
) -> None:
    shared = fired(artist)
    load_piece(shared, length_mm=300, width_mm=150)
    load_piece(shared, maker=student, title="Tile", length_mm=150, width_mm=100)
    load_piece(fired(artist, started_at=START + timedelta(days=2), hours=70), length_mm=90)
    fired(artist, started_at=datetime(2026, 6, 2, 8, tzinfo=UTC), hours=900)

    month = member_month(artist, MAY)

    assert month.firings[0].costs.firing == shared
    assert len(month.firings) == 2
    assert month.statement is not None
    parts = [each.part for each in month.firings if each.part is not None]
    assert month.total == sum(part.bill.total for part in parts)
    assert sum(month.statement.by_code.values()) == month.total
    browser = signed_in(artist)
    page = browser.get(reverse("firings:person_statement", args=[artist.pk]), {"month": "2026-05"})
    assert f"{month.total} EUR" in page.text
    saved = browser.get(
        reverse("firings:person_statement_csv", args=[artist.pk]), {"month": "2026-05"}
    )
    rows = list(csv.DictReader(b"".join(saved).decode("utf-8-sig").splitlines()))  # type: ignore[arg-type]
    assert sum(Decimal(row["amount"]) for row in rows) == month.total
    assert {row["currency"] for row in rows} == {"EUR"}


def test_all_statements_together_are_what_the_load_was_charged(
    artist: Person, student: Person, prices: PriceList
) -> None:
    firing = fired(artist)
    for number in range(3):
        load_piece(firing, maker=[artist, student][number % 2], title=f"{number}", length_mm=70)
    months = members_month([artist, student], MAY)
    everything = statement_of_all(months)
    assert everything is not None
    assert everything.total == costs(firing).charged


def test_two_currencies_are_never_added(artist: Person, prices: PriceList) -> None:
    make_prices(valid_from=date(2026, 5, 12), currency="USD")
    fired(artist)
    fired(artist, started_at=START + timedelta(days=1), hours=50)
    month = member_month(artist, MAY)
    assert len(month.firings) == 2
    assert month.statement is None


def test_an_instructor_sees_the_statements_of_a_class(
    instructor: Person, student: Person, artist: Person, prices: PriceList, signed_in: SignedIn
) -> None:
    fired(artist)
    load_piece(fired(student, started_at=START + timedelta(hours=2), kiln=make_kiln("Wren")))
    teaching_class = make_class(instructor, students=[student])
    address = reverse("firings:class_statement_list", args=[teaching_class.pk])
    page = signed_in(instructor).get(address, {"month": "2026-05"})
    assert student.name in page.text
    assert artist.name not in page.text


@pytest.mark.parametrize("month", ["2026-13", "May", "2026"])
def test_no_such_month_leads_nowhere(artist: Person, signed_in: SignedIn, month: str) -> None:
    address = reverse("firings:person_statement", args=[artist.pk])
    assert signed_in(artist).get(address, {"month": month}).status_code == 404


def test_queries_stay_with_more_firings(
    artist: Person, prices: PriceList, django_assert_max_num_queries: Any
) -> None:
    def one(day: int) -> None:
        firing = fired(artist, started_at=START + timedelta(days=day), hours=24 * day + 20)
        loaded = load_piece(firing, length_mm=100, width_mm=100, title=f"day {day}")
        lot = make_lot(artist, make_glass(colour=f"colour {day}"))
        glass_take(loaded=loaded, kind=lot.kind, by=artist, size=Rectangle(100, 100))

    one(0)
    with django_assert_max_num_queries(9):
        member_month(artist, MAY)
    for day in range(1, 6):
        one(day)
    with django_assert_max_num_queries(9):
        assert len(member_month(artist, MAY).firings) == 6


def written(**overrides: str) -> dict[str, str]:
    names = ("per_kwh", "kiln_hour", "kiln_shelf", "wear_firing", "wear_hour", "fee_firing")
    names += ("fee_shelf", "fee_kwh", "fee_hour", "fee_least")
    return {"valid_from": "2026-04-01", **dict.fromkeys(names, "0")} | overrides


def test_keeper_sets_prices_with_a_kilns_own(keeper: Person, signed_in: SignedIn) -> None:
    kiln = make_kiln()
    sent = written(per_kwh="0.31") | {f"fee_shelf_{kiln.pk}": "26"}

    signed_in(keeper).post(reverse("firings:price_list_add"), sent)

    prices = PriceList.objects.get()
    assert (prices.per_kwh, prices.currency) == (Decimal("0.31"), "EUR")
    assert prices.kilns.get().fee_shelf == Decimal(26)
    # What is empty again is the list's.
    address = reverse("firings:price_list_change", args=[prices.pk])
    signed_in(keeper).post(address, written(per_kwh="0.32") | {f"fee_shelf_{kiln.pk}": ""})
    prices.refresh_from_db()
    assert prices.per_kwh == Decimal("0.32")
    assert not prices.kilns.exists()


def test_wrong_prices_are_told_and_kept_as_typed(
    keeper: Person, prices: PriceList, signed_in: SignedIn
) -> None:
    sent = written(valid_from="2026-01-01", per_kwh="-1", fee_shelf="12.50")
    page = signed_in(keeper).post(reverse("firings:price_list_add"), sent).text
    assert "There are prices from that day already" in page
    assert "greater than or equal to 0" in page
    assert 'value="12.50"' in page
    assert PriceList.objects.count() == 1


def test_the_empty_studio_is_told_what_to_do(
    keeper: Person, artist: Person, signed_in: SignedIn
) -> None:
    firing = fired(artist)
    address = reverse("firings:firing_cost", args=[firing.pk])
    assert "Set prices" in signed_in(keeper).get(address).text
    assert "A keeper sets them" in signed_in(artist).get(address).text
    assert "No prices stand today" in signed_in(artist).get(reverse("firings:price_list")).text


def test_a_sliver_of_the_shelf_is_not_called_nothing(
    artist: Person, prices: PriceList, signed_in: SignedIn
) -> None:
    firing = fired(artist)
    load_piece(firing, length_mm=20, width_mm=20)
    page = signed_in(artist).get(reverse("firings:firing_cost", args=[firing.pk])).text
    assert "Less than 1 % of the shelf" in page


def test_a_first_list_begins_with_nothing_charged(keeper: Person, signed_in: SignedIn) -> None:
    browser, address = signed_in(keeper), reverse("firings:price_list_add")
    form = browser.get(address).context["form"]
    shown = {field.name: field.value() for field in (*form.cost_fields, *form.fee_fields)}
    assert {Decimal(value) for value in shown.values()} == {Decimal(0)}
    browser.post(address, shown | {"valid_from": "2026-04-01"})
    assert PriceList.objects.get().per_kwh == 0
