"""Money: a currency with its smallest coin, and amounts split without losing one.

Rounding is half up; what is left over of a split goes to the largest remainders. (Common practice
of book-keeping, no source.)
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency by its ISO 4217 code, with the decimals of its minor unit.

    Attributes
    ----------
    code : three capital letters
    decimals : of an amount: 2 where the minor unit is a hundredth

    Raises
    ------
    ValueError
        For a code that is not three capital letters, or decimals that are not 0 to 4.

    Examples
    --------
    >>> Currency("EUR").rounded(Decimal("1.005")), Currency("JPY", 0).rounded(Decimal("1.5"))
    (Decimal('1.01'), Decimal('2'))
    """

    code: str
    decimals: int = 2

    def __post_init__(self) -> None:
        if not (len(self.code) == 3 and self.code.isascii() and self.code.isupper()):
            raise ValueError(f"A currency is three capital letters, not {self.code!r}.")
        if not 0 <= self.decimals <= 4:
            raise ValueError(f"A currency has 0 to 4 decimals, not {self.decimals}.")

    @property
    def smallest(self) -> Decimal:
        """The minor unit."""
        return Decimal(1).scaleb(-self.decimals)

    def rounded(self, amount: Decimal) -> Decimal:
        """To the minor unit, half up (away from zero for what is paid back)."""
        return amount.quantize(self.smallest, rounding=ROUND_HALF_UP)


NO_MINOR_UNIT = frozenset(["BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG"]).union(
    ["RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF", "XPF"]
)
THOUSANDTHS = frozenset(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"))


def currency_of(code: str) -> Currency:
    """A currency with the decimals of its minor unit.

    Parameters
    ----------
    code : of ISO 4217

    Raises
    ------
    ValueError
        As for `Currency`.

    Examples
    --------
    >>> currency_of("EUR").decimals, currency_of("JPY").decimals, currency_of("TND").decimals
    (2, 0, 3)

    Source: ISO 4217, table of minor units (from memory).
    """
    if code in NO_MINOR_UNIT:
        return Currency(code, 0)
    return Currency(code, 3 if code in THOUSANDTHS else 2)


def shares(amount: Decimal, weights: Sequence[Decimal], currency: Currency) -> tuple[Decimal, ...]:
    """An amount split by weight, so that the shares add up to it exactly.

    Each share is rounded down, and the minor units left over go to the largest remainders, the
    first of equal ones first (the method of largest remainders).

    Parameters
    ----------
    amount : in whole minor units; a negative one is what is paid back
    weights : shelf areas, pieces, …, shape (n,); where all are 0 they count as equal
    currency : whose minor unit is the smallest share

    Returns
    -------
    shape (n,)

    Raises
    ------
    ValueError
        Without weights, for a negative or not finite one, or an amount in less than minor units.

    Examples
    --------
    >>> [str(each) for each in shares(Decimal("10.00"), [Decimal(1)] * 3, Currency("EUR"))]
    ['3.34', '3.33', '3.33']
    """
    if not weights:
        raise ValueError("Nobody to share among.")
    for weight in weights:
        refuse_negative("weight", weight)
    if not amount.is_finite() or currency.rounded(amount) != amount:
        raise ValueError(f"No amount in whole minor units of {currency.code}: {amount}.")
    # In integers all the way, so that no precision of a context can lose a coin.
    units = int(abs(amount).scaleb(currency.decimals))
    ratios = [weight.as_integer_ratio() for weight in weights]
    common = 1
    for _, denominator in ratios:
        common *= denominator
    heights = [numerator * (common // denominator) for numerator, denominator in ratios]
    whole = sum(heights)
    if whole == 0:
        heights, whole = [1] * len(weights), len(weights)
    parts = [divmod(units * height, whole) for height in heights]
    left = units - sum(quotient for quotient, _ in parts)
    first = sorted(range(len(parts)), key=lambda place: -parts[place][1])[:left]
    sign = -1 if amount < 0 else 1
    return tuple(
        Decimal(sign * (quotient + (place in first))).scaleb(-currency.decimals)
        for place, (quotient, _) in enumerate(parts)
    )


def refuse_negative(name: str, figure: Decimal) -> None:
    """ValueError for a figure that is below 0 or not finite; `name` says which.

    Examples
    --------
    >>> refuse_negative("weight", Decimal(0))
    """
    if not figure.is_finite() or figure < 0:
        raise ValueError(f"{name} is 0 or more, not {figure}.")
