"""What a firing costs and what is charged for it, in decimals of one currency.

Each line is rounded to the currency's smallest coin, half up, and totals are sums of rounded lines;
shares of an amount are split so that they add up to it exactly. Prices, rates and the rules for
them are the studio's own. (Common practice of book-keeping, no source.)
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from firings.services.money import ZERO, Currency, refuse_negative, shares

SECONDS_PER_HOUR = Decimal(3600)


@dataclass(frozen=True, slots=True)
class CostLine:
    """A line of a cost, a fee or a statement.

    Attributes
    ----------
    code : what for: "energy", "kiln_hours", "kiln_shelf", "glass", "wear_firing", "wear_hours",
        "per_firing", "shelf_share", "kwh", "hours", "minimum"
    quantity : in the unit of the code: kWh, h, share 0–1, firings; of glass in its own unit
    amount : rounded
    label : of glass or of a statement's firing, as people call it
    """

    code: str
    quantity: Decimal
    amount: Decimal
    label: str = ""


@dataclass(frozen=True, slots=True)
class Bill:
    """Lines in one currency, whose total is their sum.

    Examples
    --------
    >>> Bill(Currency("EUR"), (CostLine("energy", Decimal(10), Decimal("3.20")),)).total
    Decimal('3.20')
    """

    currency: Currency
    lines: tuple[CostLine, ...] = ()

    @property
    def total(self) -> Decimal:
        """Exact sum of the lines, in the minor unit."""
        return sum((line.amount for line in self.lines), ZERO.quantize(self.currency.smallest))


@dataclass(frozen=True, slots=True)
class GlassUse:
    """Glass that a firing took: its name, how much of it in its own unit, what that cost."""

    what: str
    amount: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class FiringUse:
    """What a firing, or one maker's part of it, took.

    Attributes
    ----------
    kwh : kWh
    seconds : s for which the kiln was taken
    shelf_share : of the kiln's shelf area, 0–1
    glass : what was used

    Raises
    ------
    ValueError
        For a negative or not finite figure, or a share above 1.
    """

    kwh: Decimal = ZERO
    seconds: Decimal = ZERO
    shelf_share: Decimal = Decimal(1)
    glass: tuple[GlassUse, ...] = ()

    def __post_init__(self) -> None:
        for name in ("kwh", "seconds", "shelf_share"):
            refuse_negative(name, getattr(self, name))
        if self.shelf_share > 1:
            raise ValueError(f"No load takes more than the shelf: {self.shelf_share}.")

    @property
    def hours(self) -> Decimal:
        """h, not rounded."""
        return self.seconds / SECONDS_PER_HOUR


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost the studio; what is 0 gives no line.

    Attributes
    ----------
    currency : of all prices
    per_kwh : of energy
    kiln_hour : of the kiln, by the hour
    kiln_shelf : of the kiln, for its whole shelf in one firing
    wear_firing, wear_hour : elements, thermocouple, shelves, by firing and by hour
    """

    currency: Currency
    per_kwh: Decimal = ZERO
    kiln_hour: Decimal = ZERO
    kiln_shelf: Decimal = ZERO
    wear_firing: Decimal = ZERO
    wear_hour: Decimal = ZERO

    def __post_init__(self) -> None:
        for name in ("per_kwh", "kiln_hour", "kiln_shelf", "wear_firing", "wear_hour"):
            refuse_negative(name, getattr(self, name))


@dataclass(frozen=True, slots=True)
class FeeRule:
    """What a studio charges for a firing: the sum of its parts, and at least `minimum`.

    Attributes
    ----------
    currency : of all rates
    per_firing : for each
    shelf_share : for a whole shelf, of which the share is charged
    per_kwh, per_hour : rates
    minimum : of one firing
    """

    currency: Currency
    per_firing: Decimal = ZERO
    shelf_share: Decimal = ZERO
    per_kwh: Decimal = ZERO
    per_hour: Decimal = ZERO
    minimum: Decimal = ZERO

    def __post_init__(self) -> None:
        for name in ("per_firing", "shelf_share", "per_kwh", "per_hour", "minimum"):
            refuse_negative(name, getattr(self, name))


def firing_cost(use: FiringUse, prices: Prices) -> Bill:
    """What a firing cost the studio, a line for each thing that has a price.

    Parameters
    ----------
    use : of the firing
    prices : the studio's

    Returns
    -------
    Bill, each line rounded half up to the minor unit

    Examples
    --------
    >>> prices = Prices(Currency("EUR"), per_kwh=Decimal("0.31"), wear_firing=Decimal("1.50"))
    >>> bill = firing_cost(FiringUse(kwh=Decimal("12.5")), prices)
    >>> [(line.code, str(line.amount)) for line in bill.lines], str(bill.total)
    ([('energy', '3.88'), ('wear_firing', '1.50')], '5.38')
    """
    lines = _priced(
        prices.currency,
        ("energy", use.kwh, prices.per_kwh),
        ("kiln_hours", use.hours, prices.kiln_hour),
        ("kiln_shelf", use.shelf_share, prices.kiln_shelf),
    )
    lines += [
        CostLine("glass", each.amount, prices.currency.rounded(each.cost), each.what)
        for each in use.glass
    ]
    lines += _priced(
        prices.currency,
        ("wear_firing", Decimal(1), prices.wear_firing),
        ("wear_hours", use.hours, prices.wear_hour),
    )
    return Bill(prices.currency, tuple(lines))


def firing_fee(use: FiringUse, rule: FeeRule) -> Bill:
    """What is charged for a firing; where it comes to less than the minimum, a line makes it up.

    Parameters
    ----------
    use : of the firing or of one maker's part of it; its glass is not charged here
    rule : the studio's

    Returns
    -------
    Bill, each line rounded half up to the minor unit

    Examples
    --------
    >>> rule = FeeRule(Currency("EUR"), shelf_share=Decimal(20), minimum=Decimal(6))
    >>> bill = firing_fee(FiringUse(shelf_share=Decimal("0.25")), rule)
    >>> [(line.code, str(line.amount)) for line in bill.lines]
    [('shelf_share', '5.00'), ('minimum', '1.00')]
    """
    lines = _priced(
        rule.currency,
        ("per_firing", Decimal(1), rule.per_firing),
        ("shelf_share", use.shelf_share, rule.shelf_share),
        ("kwh", use.kwh, rule.per_kwh),
        ("hours", use.hours, rule.per_hour),
    )
    missing = rule.currency.rounded(rule.minimum) - sum((line.amount for line in lines), ZERO)
    if missing > 0:
        lines.append(CostLine("minimum", Decimal(1), rule.currency.rounded(missing)))
    return Bill(rule.currency, tuple(lines))


def split_bill(bill: Bill, weights: Sequence[Decimal]) -> tuple[Bill, ...]:
    """A load's bill split among its makers, line by line: by shelf area, or by piece.

    Parameters
    ----------
    bill : of the whole load
    weights : of each maker: m² of shelf, or number of pieces; shape (n,)

    Returns
    -------
    Bill for each maker, shape (n,): each line adds up to the load's line, each total to its total.
    Quantities are split in proportion, and are not rounded.

    Raises
    ------
    ValueError
        As for `shares`.

    Examples
    --------
    >>> bill = Bill(Currency("EUR"), (CostLine("energy", Decimal(9), Decimal("3.01")),))
    >>> [str(each.total) for each in split_bill(bill, [Decimal(2), Decimal(1)])]
    ['2.01', '1.00']
    """
    by_line = [shares(line.amount, weights, bill.currency) for line in bill.lines]
    if not by_line:
        shares(ZERO, weights, bill.currency)  # refuses what can't be split
    whole = sum(weights, ZERO)
    return tuple(
        Bill(
            bill.currency,
            tuple(
                CostLine(
                    line.code,
                    line.quantity * weight / whole if whole else line.quantity / len(weights),
                    parts[place],
                    line.label,
                )
                for line, parts in zip(bill.lines, by_line, strict=True)
            ),
        )
        for place, weight in enumerate(weights)
    )


@dataclass(frozen=True, slots=True)
class Statement:
    """A person's month: what was charged for each firing, and what it comes to.

    Attributes
    ----------
    currency : of all of it
    bills : (label, bill) for each firing
    """

    currency: Currency
    bills: tuple[tuple[str, Bill], ...] = field(default=())

    def __post_init__(self) -> None:
        for label, bill in self.bills:
            if bill.currency != self.currency:
                raise ValueError(
                    f"{label}: {bill.currency.code} in a statement in {self.currency.code}."
                )

    @property
    def lines(self) -> tuple[CostLine, ...]:
        """All lines, each labelled with its firing."""
        return tuple(
            CostLine(line.code, line.quantity, line.amount, label)
            for label, bill in self.bills
            for line in bill.lines
        )

    @property
    def by_code(self) -> dict[str, Decimal]:
        """What each kind of line comes to; these add up to the total too."""
        found: dict[str, Decimal] = {}
        for line in self.lines:
            found[line.code] = found.get(line.code, ZERO) + line.amount
        return found

    @property
    def total(self) -> Decimal:
        """Sum of the bills' totals, which is the sum of all lines."""
        return sum((bill.total for _, bill in self.bills), ZERO.quantize(self.currency.smallest))


def statement(bills: Sequence[tuple[str, Bill]], currency: Currency) -> Statement:
    """A person's statement of a month.

    Parameters
    ----------
    bills : (label, bill) of each of the person's firings in the month; bills without lines are
        left out
    currency : of all bills

    Raises
    ------
    ValueError
        For a bill in another currency: amounts of two are never added.

    Examples
    --------
    >>> euro = Currency("EUR")
    >>> fee = firing_fee(FiringUse(), FeeRule(euro, per_firing=Decimal(12)))
    >>> str(statement([("bowl", fee), ("plate", fee)], euro).total)
    '24.00'
    """
    return Statement(currency, tuple((label, bill) for label, bill in bills if bill.lines))


def _priced(currency: Currency, *parts: tuple[str, Decimal, Decimal]) -> list[CostLine]:
    """A line for each (code, quantity, price) that has a price."""
    return [
        CostLine(code, quantity, currency.rounded(quantity * price))
        for code, quantity, price in parts
        if price
    ]
