"""Quantities on the glass shelf: sums of a ledger, sizes of sheet, and whose price a cut takes.

Quantities are whole numbers of the smallest step that is written, so that sums are exact: mm² of
sheet, mg of frit, powder and billet, mm of rod and stringer, or pieces.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

LONGEST_MM = 5000
"""Of a side of sheet, mm."""
MOST_PIECES = 10_000
MOST_UNITS = 1_000_000
"""Of what a lot is read in: g, m or pieces."""


@dataclass(frozen=True, order=True)
class Rectangle:
    """A rectangle of sheet, in whole mm; longer side first, so that turned ones are equal.

    Raises
    ------
    ValueError
        for a side that is not above 0

    >>> Rectangle(120, 180) == Rectangle(180, 120)
    True
    >>> Rectangle(500, 400).area
    200000

    Source: geometry.
    """

    length: int
    width: int

    def __post_init__(self) -> None:
        if min(self.length, self.width) <= 0:
            raise ValueError("A rectangle has two sides above 0 mm.")
        if self.width > self.length:
            turned = (self.width, self.length)
            object.__setattr__(self, "length", turned[0])
            object.__setattr__(self, "width", turned[1])

    @property
    def area(self) -> int:
        """In mm²."""
        return self.length * self.width

    def holds(self, wanted: "Rectangle") -> bool:
        """Whether `wanted` can be cut out of it, sides parallel, either way round.

        >>> Rectangle(200, 125).holds(Rectangle(120, 180))
        True
        >>> Rectangle(400, 110).holds(Rectangle(180, 120))
        False
        """
        return self.length >= wanted.length and self.width >= wanted.width


def offcuts_of(sheet: Rectangle, wanted: Rectangle) -> tuple[Rectangle, ...]:
    """What is left when `wanted` is taken from a corner with two straight scores, the larger first.

    Of the four ways (turned or not, either score first) the one with the largest single offcut.

    Parameters
    ----------
    sheet, wanted : mm

    Returns
    -------
    none, one or two rectangles; the saw's or the wheel's loss is not taken off

    Raises
    ------
    ValueError
        where the sheet does not hold what is wanted

    >>> offcuts_of(Rectangle(500, 400), Rectangle(180, 120))
    (Rectangle(length=400, width=380), Rectangle(length=220, width=120))

    Source: geometry; sheet is scored and broken from edge to edge (common practice, no source).
    """
    if not sheet.holds(wanted):
        raise ValueError("The sheet does not hold what is wanted.")
    ways = []
    for along, across in ((wanted.length, wanted.width), (wanted.width, wanted.length)):
        if along > sheet.length or across > sheet.width:
            continue
        beside, above = sheet.length - along, sheet.width - across
        for sides in (
            ((beside, sheet.width), (along, above)),
            ((beside, across), (sheet.length, above)),
        ):
            left = [Rectangle(*pair) for pair in sides if min(pair) > 0]
            ways.append(tuple(sorted(left, key=lambda each: each.area, reverse=True)))
    return max(ways, key=lambda left: [each.area for each in left])


NARROWEST_KEPT = 20
"""mm; a strip that is narrower is used up with the piece. Common practice, no source."""


def worth_keeping(offcuts: Iterable[Rectangle]) -> list[Rectangle]:
    """Those that are no mere strips, the largest first.

    >>> worth_keeping([Rectangle(500, 12), Rectangle(220, 120)])
    [Rectangle(length=220, width=120)]

    Source: common practice, no source.
    """
    kept = [each for each in offcuts if each.width >= NARROWEST_KEPT]
    return sorted(kept, key=lambda each: each.area, reverse=True)


def fit_together(sheet: Rectangle, parts: Sequence[Rectangle]) -> bool:
    """Whether parts may come out of one sheet: each fits and their areas do not exceed it.

    A necessary condition, which finds slips of writing; it does not lay the parts out.

    >>> fit_together(Rectangle(500, 400), [Rectangle(180, 120), Rectangle(400, 320)])
    True
    >>> fit_together(Rectangle(500, 400), [Rectangle(500, 380), Rectangle(180, 120)])
    False

    Source: geometry.
    """
    if not all(sheet.holds(part) for part in parts):
        return False
    return sum(part.area for part in parts) <= sheet.area


def cost_of(amount: int, received: int, price: Decimal | None) -> Decimal | None:
    """The share of a lot's price that an amount of it carries, unrounded.

    Parameters
    ----------
    amount, received : in one unit, `received` above 0
    price : of all that was received, or None where it is not known

    Raises
    ------
    ValueError
        where nothing was received

    >>> cost_of(250, 1000, Decimal("18.00"))
    Decimal('4.50')

    Source: proportion.
    """
    if received <= 0:
        raise ValueError("A lot without an amount has no price a unit.")
    return None if price is None else price * amount / received


@dataclass(frozen=True)
class HeldLot:
    """A lot as it is drawn from: `remaining` and `received` in one unit, the price of all."""

    key: Hashable
    remaining: int
    received: int
    price: Decimal | None = None


@dataclass(frozen=True)
class Drawn:
    """What one lot gives, and what that cost, None where the lot's price is not known."""

    key: Hashable
    amount: int
    cost: Decimal | None


class TooLittleError(ValueError):
    """More is asked for than there is; `.there` is all that there is, in the unit asked in."""

    def __init__(self, there: int) -> None:
        super().__init__(f"Only {there} is there.")
        self.there = there


def draw_first_in(lots: Iterable[HeldLot], amount: int) -> list[Drawn]:
    """Draw an amount from lots in the order given, the first in first.

    Parameters
    ----------
    lots : oldest first
    amount : above 0, in the lots' unit

    Raises
    ------
    ValueError
        for an amount that is not above 0
    TooLittleError
        where the lots together hold less; nothing is drawn then

    >>> old, new = HeldLot("old", 300, 1000, Decimal(10)), HeldLot("new", 1000, 1000, Decimal(20))
    >>> [(each.key, each.amount, each.cost) for each in draw_first_in([old, new], 500)]
    [('old', 300, Decimal('3')), ('new', 200, Decimal('4'))]

    Source: first in, first out as a cost formula, IAS 2 paragraph 27 (from memory).
    """
    if amount <= 0:
        raise ValueError("An amount above 0 is drawn.")
    drawn, left = [], amount
    for lot in lots:
        share = min(left, lot.remaining)
        if share > 0:
            drawn.append(Drawn(lot.key, share, cost_of(share, lot.received, lot.price)))
            left -= share
        if left == 0:
            return drawn
    raise TooLittleError(amount - left)


def sizes_there(moved: Iterable[tuple[Rectangle, int]]) -> dict[Rectangle, int]:
    """Pieces of each size that a ledger of (size, signed pieces) leaves, without those at 0.

    >>> sheet, offcut = Rectangle(500, 400), Rectangle(400, 380)
    >>> sizes_there([(sheet, 1), (sheet, -1), (offcut, 1)])
    {Rectangle(length=400, width=380): 1}

    Source: addition.
    """
    there: Counter[Rectangle] = Counter()
    for size, pieces in moved:
        there[size] += pieces
    return {size: pieces for size, pieces in there.items() if pieces}
