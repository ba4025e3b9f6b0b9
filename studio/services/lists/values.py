"""Cells as values: numbers with a decimal point or comma and a unit, dates in several forms."""

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType

from studio.services.lists.fates import RefusedError

Units = Mapping[str, int | Decimal]
"""Steps in a unit, the unit that is written first."""

MM: Units = MappingProxyType(
    {"mm": 1, "cm": 10, "m": 1000, "in": Decimal("25.4"), '"': Decimal("25.4")}
)
"""mm in a unit; the inch by its definition."""
MG: Units = MappingProxyType(
    {"g": 1000, "mg": 1, "kg": 10**6, "lb": Decimal("453592.37"), "oz": Decimal("28349.523125")}
)
"""mg in a unit; pound and ounce by their definition (avoirdupois)."""
METRES: Units = MappingProxyType({"m": 1000, "cm": 10, "mm": 1, "ft": Decimal("304.8")})
"""mm in a unit of a length in all."""

_SPACES = re.compile("[\\s\u00a0\u202f']")
_NUMBER = re.compile(r"(?P<sign>[+−-]?)(?P<digits>\d[\d.,]*|[.,]\d+)(?P<unit>[^\d.,]*)")
_BEFORE = re.compile(r"^[^\d.,+−-]+")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_YES = {"yes", "y", "true", "1", "x", "✓"}
_NO = {"no", "n", "false", "0", "-", "–"}


@dataclass(frozen=True)
class Reading:
    """How the cells of a file are read.

    Parameters
    ----------
    decimal : "." or ",", which counts where a number could be read either way: 1,234
    day_first : whether 04/05/2026 is in May
    units : by column, the unit that its header names, where it names one
    temperature : "C" or "F", in which temperatures are that name no unit; empty where nobody said
    """

    decimal: str = "."
    day_first: bool = True
    units: Mapping[str, str] = field(default_factory=dict)
    temperature: str = ""

    def number(self, cell: str, column: str) -> tuple[Decimal, str]:
        """The number of a cell, and the letters beside it, in small letters.

        Raises
        ------
        RefusedError
            "not_a_number"

        Examples
        --------
        >>> Reading().number("12,50 €", "price")
        (Decimal('12.50'), '€')
        >>> Reading(",").number("1.250", "mass"), Reading(".").number("1.250", "mass")
        ((Decimal('1250'), ''), (Decimal('1.250'), ''))
        """
        bare = _SPACES.sub("", cell).lower()
        before = _BEFORE.match(bare)
        found = _NUMBER.fullmatch(bare[before.end() :] if before else bare)
        if found is None:
            raise RefusedError("not_a_number", column, cell=cell)
        digits = _plain(found["digits"], self.decimal)
        if digits is None:
            raise RefusedError("not_a_number", column, cell=cell)
        unit = (before.group() if before else "") + found["unit"]
        number = Decimal(digits)
        return (-number if found["sign"] in ("-", "−") and number else number), unit

    def whole(self, cell: str, column: str, least: int, most: int) -> int:
        """A whole number of things within limits.

        Raises
        ------
        RefusedError
            "not_a_number", "not_whole" or "beyond"

        Examples
        --------
        >>> Reading().whole("12 pcs", "pieces", 0, 10_000)
        12
        """
        number, _ = self.number(cell, column)
        if number != int(number):
            raise RefusedError("not_whole", column, cell=cell)
        _within(number, column, least, most, "")
        return int(number)

    def steps(
        self,
        cell: str,
        column: str,
        units: Units,
        least: Decimal | int,
        most: Decimal | int,
    ) -> int:
        """An amount in whole steps of the smallest unit.

        Parameters
        ----------
        units : steps in a unit; the first counts where neither cell nor header names one
        least, most : in the first unit

        Raises
        ------
        RefusedError
            "not_a_number", "unit_unknown", "beyond", or "too_fine" for a part of a step in a
            metric unit; from inches, feet, pounds and ounces it is rounded

        Examples
        --------
        >>> Reading().steps("1,5 kg", "mass", MG, Decimal("0.001"), 1_000_000)
        1500000
        >>> Reading(units={"length": "in"}).steps("17 1/2", "length", MM, 1, 5000)
        Traceback (most recent call last):
        studio.services.lists.fates.RefusedError: not_a_number
        >>> Reading(units={"length": "in"}).steps("17.5", "length", MM, 1, 5000)
        444
        """
        number, unit = self.number(cell, column)
        first = next(iter(units))
        unit = unit.rstrip(".") or self.units.get(column, "") or first
        if unit not in units:
            raise RefusedError("unit_unknown", column, cell=cell, units=", ".join(units))
        exact = number * units[unit]
        _within(exact / units[first], column, least, most, first)
        if exact != int(exact) and isinstance(units[unit], int):
            raise RefusedError("too_fine", column, cell=cell, unit=first)
        return round(exact)

    def date(self, cell: str, column: str) -> dt.date:
        """A day: 2026-05-04, 4.5.2026, 04/05/26, 4 May 2026, May 4, 2026; a time behind it is cut.

        Raises
        ------
        RefusedError
            "not_a_date"

        Examples
        --------
        >>> Reading().date("4.5.26", "received"), Reading().date("May 4, 2026", "received")
        (datetime.date(2026, 5, 4), datetime.date(2026, 5, 4))
        >>> Reading(day_first=False).date("05/04/2026", "received")
        datetime.date(2026, 5, 4)
        """
        parts = _date_parts(cell, self.day_first)
        if parts is not None:
            try:
                return dt.date(*parts)
            except ValueError:
                pass
        raise RefusedError("not_a_date", column, cell=cell)


def yes(cell: str, column: str) -> bool:
    """Whether a cell says yes.

    Raises
    ------
    RefusedError
        "not_yes_or_no"

    Examples
    --------
    >>> yes("Yes", "copper"), yes("no", "copper")
    (True, False)
    """
    said = cell.strip().casefold()
    if said not in _YES | _NO:
        raise RefusedError("not_yes_or_no", column, cell=cell)
    return said in _YES


def folded(text: str) -> str:
    """A text as it is compared: without capitals, its spaces single.

    Examples
    --------
    >>> folded("  Sea\u00a0 Green ")
    'sea green'
    """
    return " ".join(text.split()).casefold()


def one_of(cell: str, column: str, words: Mapping[str, str]) -> str:
    """The code of a word, of which the plural is understood too.

    Parameters
    ----------
    words : by code, as they are shown

    Raises
    ------
    RefusedError
        "not_one_of"

    Examples
    --------
    >>> one_of("Sheets", "form", {"sheet": "sheet", "frit": "frit"})
    'sheet'
    """
    said = folded(cell)
    for code, word in words.items():
        if said in (code, folded(word), f"{folded(word)}s"):
            return code
    raise RefusedError("not_one_of", column, cell=cell, words=", ".join(words.values()))


def text(cell: str, column: str, longest: int) -> str:
    """A line of text, its spaces single.

    Raises
    ------
    RefusedError
        "too_long"

    Examples
    --------
    >>> text("rack  B", "place", 80)
    'rack B'
    """
    said = " ".join(cell.split())
    if len(said) > longest:
        raise RefusedError("too_long", column, most=longest, there=len(said))
    return said


def _within(
    number: Decimal, column: str, least: Decimal | int, most: Decimal | int, unit: str
) -> None:
    if not least <= number <= most:
        raise RefusedError("beyond", column, there=f"{number.normalize():f}", least=least,
                           most=most, unit=unit)  # fmt: skip


def _plain(digits: str, decimal: str) -> str | None:
    """Digits with a point for the decimals and nothing for thousands; None where they are mixed."""
    signs = [each for each in digits if each in ".,"]
    if not signs:
        return digits
    last = signs[-1]
    whole, _, rest = digits.rpartition(last)
    if len(set(signs)) == 2:  # the last of two kinds is the decimal sign
        other = "," if last == "." else "."
        return f"{whole.replace(other, '')}.{rest}" if _grouped(whole, other) else None
    if len(signs) > 1:
        return digits.replace(last, "") if _grouped(digits, last) else None
    if last != decimal and whole not in ("", "0") and _grouped(digits, last):
        return digits.replace(last, "")
    return f"{whole or '0'}.{rest or '0'}"


def _grouped(digits: str, sign: str) -> bool:
    first, *groups = digits.split(sign)
    return 1 <= len(first) <= 3 and all(len(each) == 3 for each in groups)


def _date_parts(cell: str, day_first: bool) -> tuple[int, int, int] | None:
    """Year, month, day."""
    found = re.match(r"^\s*(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?![\d])", cell)
    if found:
        return int(found[1]), int(found[2]), int(found[3])
    found = re.match(r"^\s*(\d{1,2})\s*([-/.])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})(?!\d)", cell)
    if found:
        one, two, year = int(found[1]), int(found[3]), int(found[4])
        first = day_first or found[2] == "." or one > 12
        day, month = (one, two) if first and two <= 12 else (two, one)
        return year + 2000 if year < 100 else year, month, day
    words = re.findall(r"[a-z]+|\d+", cell.lower())[:3]
    named = [at for at, word in enumerate(words) if word[:3] in _MONTHS and word.isalpha()]
    if len(words) != 3 or named not in ([0], [1]):
        return None
    month = _MONTHS.index(words.pop(named[0])[:3]) + 1
    if not all(word.isdecimal() for word in words):
        return None
    day, year = int(words[0]), int(words[1])
    return year + 2000 if year < 100 else year, month, day
