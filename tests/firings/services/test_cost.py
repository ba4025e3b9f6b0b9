"""Costs, fees and their shares: exact to the last coin."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.cost import (
    Bill,
    CostLine,
    FeeRule,
    FiringUse,
    GlassUse,
    Prices,
    firing_cost,
    firing_fee,
    split_bill,
    statement,
)
from firings.services.money import Currency, shares

EUR, JPY, KWD = Currency("EUR"), Currency("JPY", 0), Currency("KWD", 3)
CURRENCIES = st.sampled_from([EUR, JPY, KWD])
FIGURES = st.decimals(0, 10_000, places=4)
WEIGHTS = st.lists(st.decimals(0, 5_000, places=3), min_size=1, max_size=12)
USES = st.builds(
    FiringUse,
    kwh=FIGURES,
    seconds=FIGURES,
    shelf_share=st.decimals(0, 1, places=3),
    glass=st.lists(st.builds(GlassUse, st.just("clear"), FIGURES, FIGURES), max_size=3).map(tuple),
)


def prices(currency):
    return st.builds(Prices, st.just(currency), FIGURES, FIGURES, FIGURES, FIGURES, FIGURES)


def rules(currency):
    return st.builds(FeeRule, st.just(currency), FIGURES, FIGURES, FIGURES, FIGURES, FIGURES)


@given(CURRENCIES, st.integers(-(10**9), 10**9), WEIGHTS)
def test_shares_add_up_to_the_whole_and_lie_within_a_coin_of_fair(currency, units, weights):
    amount = Decimal(units) * currency.smallest
    parts = shares(amount, weights, currency)
    assert sum(parts) == amount
    whole = sum(weights)
    for part, weight in zip(parts, weights, strict=True):
        fair = amount * weight / whole if whole else amount / len(weights)
        assert abs(part - fair) < currency.smallest * Decimal("1.000001")
        assert currency.rounded(part) == part


@given(st.data(), CURRENCIES, USES, WEIGHTS)
def test_bills_and_their_splits_add_up(data, currency, use, weights):
    bill = firing_cost(use, data.draw(prices(currency)))
    assert bill.total == sum(line.amount for line in bill.lines)
    assert all(currency.rounded(line.amount) == line.amount for line in bill.lines)
    parts = split_bill(bill, weights)
    assert sum(part.total for part in parts) == bill.total
    for place, line in enumerate(bill.lines):
        assert sum(part.lines[place].amount for part in parts) == line.amount


@given(st.data(), CURRENCIES, st.lists(USES, max_size=6))
def test_a_statement_adds_up_by_line_by_firing_and_by_kind(data, currency, uses):
    rule = data.draw(rules(currency))
    fees = [(str(number), firing_fee(use, rule)) for number, use in enumerate(uses)]
    month = statement(fees, currency)
    assert month.total == sum(bill.total for _, bill in fees)
    assert month.total == sum(line.amount for line in month.lines)
    assert month.total == sum(month.by_code.values())
    assert all(bill.total >= currency.rounded(rule.minimum) for _, bill in fees)


def test_a_firing_worked_by_hand():
    # 18.4 kWh × 0.32 = 5.888 → 5.89; 13.5 h × 0.75 = 10.125 → 10.13; glass 14.205 → 14.21
    # (half up); wear 1.20 and 13.5 h × 0.05 = 0.675 → 0.68. Together 32.11.
    use = FiringUse(
        kwh=Decimal("18.4"),
        seconds=Decimal(48_600),
        glass=(GlassUse("clear, 3 mm", Decimal("0.09"), Decimal("14.205")),),
    )
    bill = firing_cost(
        use,
        Prices(
            EUR,
            per_kwh=Decimal("0.32"),
            kiln_hour=Decimal("0.75"),
            wear_firing=Decimal("1.20"),
            wear_hour=Decimal("0.05"),
        ),
    )
    assert [str(line.amount) for line in bill.lines] == ["5.89", "10.13", "14.21", "1.20", "0.68"]
    assert bill.total == Decimal("32.11")


def test_the_kiln_may_be_paid_by_shelf_area():
    bill = firing_cost(FiringUse(shelf_share=Decimal("0.4")), Prices(EUR, kiln_shelf=Decimal(25)))
    assert [(line.code, line.amount) for line in bill.lines] == [("kiln_shelf", Decimal("10.00"))]


def test_a_fee_of_several_parts_and_its_minimum():
    rule = FeeRule(EUR, per_firing=Decimal(3), per_kwh=Decimal("0.4"), minimum=Decimal(8))
    small, large = (firing_fee(FiringUse(kwh=Decimal(kwh)), rule) for kwh in (5, 20))
    assert [line.code for line in small.lines] == ["per_firing", "kwh", "minimum"]
    assert small.total == Decimal("8.00")
    assert large.total == Decimal("11.00")


def test_left_over_coins_go_to_the_largest_remainders():
    # 1.00 by 5 : 3 : 1 is 55.55…, 33.33… and 11.11… of a hundred: the coin left goes to the first.
    parts = shares(Decimal("1.00"), [Decimal(5), Decimal(3), Decimal(1)], EUR)
    assert [str(each) for each in parts] == ["0.56", "0.33", "0.11"]
    assert shares(Decimal(-5), [Decimal(1), Decimal(1)], JPY) == (Decimal(-3), Decimal(-2))


def test_where_nobody_has_weight_all_share_alike():
    assert shares(Decimal("2.00"), [Decimal(0)] * 2, EUR) == (Decimal("1.00"),) * 2


def test_amounts_of_two_currencies_are_never_added():
    yen = Bill(JPY, (CostLine("energy", Decimal(1), Decimal(30)),))
    with pytest.raises(ValueError, match="JPY in a statement in EUR"):
        statement([("bowl", yen)], EUR)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: shares(Decimal(1), [], EUR), "Nobody"),
        (lambda: shares(Decimal(1), [Decimal(-1)], EUR), "weight"),
        (lambda: shares(Decimal("0.001"), [Decimal(1)], EUR), "minor units"),
        (lambda: split_bill(Bill(EUR), []), "Nobody"),
        (lambda: FiringUse(kwh=Decimal("NaN")), "kwh"),
        (lambda: FiringUse(shelf_share=Decimal("1.1")), "shelf"),
        (lambda: Prices(EUR, per_kwh=Decimal(-1)), "per_kwh"),
        (lambda: FeeRule(EUR, minimum=Decimal(-1)), "minimum"),
        (lambda: Currency("eur"), "capital letters"),
        (lambda: Currency("EUR", 7), "decimals"),
    ],
)
def test_nonsense_is_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()
