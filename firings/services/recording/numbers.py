"""Cells that hold a number: decimal sign, thousands, a unit behind it, and words for a break."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.cells import Cells, ShapeGroup, shape_groups
from firings.services.recording.series import Floats

MOST_DIGITS = 18
"""As many as a whole number of 64 bits always holds; further decimals are cut."""

NO_UNIT, CELSIUS, FAHRENHEIT = 0, 1, 2

# In a shape a character stands for a byte: a degree sign or a long minus is two or three of them.
_SIGN = r"(?P<sign>[+-]|\xe2\x88\x92)?"
_DIGITS = r"(?P<digits>0+(?:[.,' ]0+|\xc2\xa00+)*[.,]?|[.,]0+)"
_UNIT = r"(?:[^\x21-\x7e]|[*'])*(?:deg(?:rees?)?\.?\s*)?(?P<unit>C|F|Celsius|Fahrenheit)?"
_NUMBER = re.compile(
    rf"[\s\"']*{_SIGN}\s*{_DIGITS}(?P<exponent>E[+-]?0+)?{_UNIT}[\s\"']*", re.IGNORECASE
)
_BREAK = re.compile(
    r"\s*[+-]?(?:nan|n\.?/?a\.?|\#n/?a|\#num!?|null|none|nil|open\b.*|.*\bopen|o\.?c\.?|o\.?l\.?"
    r"|over\w*|under\w*|err\w*|fault\w*|break|broken|burn.?out|fail\w*|inf\w*|bad|invalid|missing"
    r"|no .*|disconnected|[-*?_.#]+)\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class NumberCells:
    """A column of numbers.

    Parameters
    ----------
    values : shape (n,), NaN where there is none
    units : of each cell, `NO_UNIT`, `CELSIUS` or `FAHRENHEIT`, shape (n,)
    understood : whether a cell is a number, empty, or a word for a break, shape (n,)
    """

    values: Floats
    units: NDArray[np.int8]
    understood: NDArray[np.bool_]


def number_cells(cells: Cells, decimal: str) -> NumberCells:
    """The numbers of a column.

    Parameters
    ----------
    cells : shape (n,)
    decimal : "." or ","; the other sign, a blank or an apostrophe may part thousands

    Examples
    --------
    >>> from firings.services.recording.cells import cells_of
    >>> seen = number_cells(cells_of(["1.003,5 °C", "-7", "OPEN", "", "warm"]), ",")
    >>> seen.values.tolist(), seen.units.tolist(), seen.understood.tolist()
    ([1003.5, -7.0, nan, nan, nan], [1, 0, 0, 0, 0], [True, True, True, True, False])
    """
    values = np.full(cells.size, np.nan)
    units = np.zeros(cells.size, dtype=np.int8)
    understood = np.char.str_len(cells) == 0
    for group in shape_groups(cells):
        found = _NUMBER.fullmatch(group.shape)
        if found is None:
            understood[group.rows] = _BREAK.fullmatch(group.shape) is not None
            continue
        numbers = _numbers(group, found, decimal)
        if numbers is None:
            continue
        values[group.rows] = numbers
        units[group.rows] = _unit_code(found["unit"])
        understood[group.rows] = True
    if not cells.size:
        return NumberCells(values, units, understood)
    blank = ~understood & (np.char.strip(cells) == b"") if not understood.all() else understood
    return NumberCells(values, units, understood | blank)


def _unit_code(unit: str | None) -> int:
    if unit is None:
        return NO_UNIT
    return CELSIUS if unit[0] in "cC" else FAHRENHEIT


def _numbers(group: ShapeGroup, found: re.Match[str], decimal: str) -> Floats | None:
    start, end = found.span("digits")
    text = group.shape[start:end]
    whole, _, part = text.rpartition(decimal) if decimal in text else (text, "", "")
    if decimal in whole or re.search(r"[.,' \xa0]", part):
        return None  # two decimal signs, or thousands behind one
    if not re.fullmatch(r"0*|0{1,3}(?:(?:[.,' ]|\xc2\xa0)000)+", whole):
        return None  # the other sign does not part thousands
    if found["exponent"]:
        return _with_exponent(group, decimal)
    places = [start + at for at, letter in enumerate(text) if letter == "0"]
    decimals = len(part)
    cut = max(len(places) - MOST_DIGITS, 0)
    if cut > decimals:
        return None
    values = group.number(places[: len(places) - cut]) / 10.0 ** (decimals - cut)
    return -values if found["sign"] not in (None, "+") else values


def _with_exponent(group: ShapeGroup, decimal: str) -> Floats | None:
    texts = [text.decode("latin-1").replace(decimal, ".").split()[0] for text in group.texts()]
    try:
        return np.array([float(text.strip("\"'")) for text in texts])
    except ValueError:
        return None


def decimal_sign(columns: Iterable[Cells], delimiter: str) -> tuple[str, bool]:
    """The decimal sign of columns of numbers, and whether the file decides it.

    Parameters
    ----------
    columns : cells of each column that may hold numbers
    delimiter : what parts the columns; a comma speaks for the point, a semicolon for the comma

    Examples
    --------
    >>> from firings.services.recording.cells import cells_of
    >>> decimal_sign([cells_of(["20,5", "21"])], ";")
    (',', True)
    >>> decimal_sign([cells_of(["999", "1,003"])], "\\t")
    ('.', True)
    """
    told = {".": 0, ",": 0}
    by_three: dict[str, bool] = {}
    for cells in columns:
        plain, either = False, {".": 0, ",": 0}
        for group in shape_groups(cells):
            found = _NUMBER.fullmatch(group.shape)
            if found is None:
                continue
            marks = re.findall(r"[.,]", found["digits"])
            if not marks:
                plain |= len(found["digits"]) >= 3
            elif len(set(marks)) == 1 and len(marks) > 1:  # 1,003,200
                told["." if marks[0] == "," else ","] += group.count
            elif len(marks) == 1 and re.fullmatch(r"0{1,3}[.,]000", found["digits"]):
                either[marks[0]] += group.count  # thousands, or decimals
            else:
                told[marks[-1]] += group.count
        for sign in either:
            if either[sign]:  # beside 999 the next is 1,003, beside 999,5 it is 1003,5
                by_three[sign] = by_three.get(sign, False) or plain
    if told["."] != told[","]:
        return max(told, key=lambda sign: told[sign]), min(told.values()) == 0
    for sign, other in ((",", "."), (".", ",")):
        if sign in by_three:
            return (other, True) if by_three[sign] else (sign, False)
    return ("," if delimiter == ";" else ".", True)  # there is nothing to decide
