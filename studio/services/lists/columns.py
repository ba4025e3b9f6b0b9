"""Which column of a file is which of a list's, guessed from its headers and first cells."""

import re
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from studio.services.lists.table import Table
from studio.services.lists.values import Reading, folded

NUMBERS = frozenset({"number", "temperature", "rate"})
"""What columns hold whose cells are read as numbers."""

_LOOKED_AT = 2_000
_EITHER_WAY = re.compile(r"\s*(\d{1,2})\s*[-/]\s*(\d{1,2})\s*[-/]\s*\d")
_UNIT = re.compile(r"[(\[,]\s*([^()\[\],]+?)\s*[)\]]?\s*$")


@dataclass(frozen=True)
class Column:
    """A column of a list.

    Parameters
    ----------
    name : by which it is called here
    header : as it is written above the column of a saved list, with its unit
    also : other words by which it is guessed
    required : whether no row can be taken without it
    holds : "text", "number", "temperature", "rate" or "date"
    saved : whether a saved list has it
    """

    name: str
    header: str
    also: tuple[str, ...] = ()
    required: bool = False
    holds: str = "text"
    saved: bool = True

    @property
    def words(self) -> str:
        """Its header without the unit.

        Examples
        --------
        >>> Column("thickness", "thickness (mm)").words
        'thickness'
        """
        return self.header.partition(" (")[0]


def guess_columns(headers: Sequence[str], columns: Sequence[Column]) -> dict[str, int]:
    """Of the columns that are found: where each stands in the file.

    A header that is a column's own word for word goes before one that is like it; the first of two
    like headers counts.

    Parameters
    ----------
    headers : of the file
    columns : of the list

    Examples
    --------
    >>> columns = [Column("colour", "colour", ("color",)), Column("mass", "mass (g)", ("weight",))]
    >>> guess_columns(["Weight [kg]", "Color", "colour"], columns)
    {'colour': 2, 'mass': 0}
    """
    exact = [folded(header) for header in headers]
    bare = [_bare(header) for header in headers]
    found: dict[str, int] = {}
    for column in columns:
        likes = {_bare(each) for each in (column.header, column.name, *column.also)}
        likely = [at for at, header in enumerate(exact) if header == folded(column.header)]
        likely += [at for at, header in enumerate(bare) if header in likes]
        free = [at for at in likely if at not in found.values()]
        if free:
            found[column.name] = free[0]
    return found


def read_as(
    table: Table, columns: Sequence[Column], places: Mapping[str, int], asked: Reading | None = None
) -> Reading:
    """How the cells of a table are read: by what somebody asked for, or as its cells suggest.

    Parameters
    ----------
    places : of the columns in the table
    asked : decimal sign, order of dates and unit of temperatures, where somebody has chosen them

    Returns
    -------
    With the units that the headers name. A comma is the decimal sign where some number can be read
    no other way and none speaks against it; dates have the day first unless a number above 12
    stands second.

    Examples
    --------
    >>> from studio.services.lists.table import read_table
    >>> columns = [Column("mass", "mass (g)", holds="number"), Column("on", "on", holds="date")]
    >>> table = read_table(b"mass (kg);on\\n1,25;05/14/2026\\n")
    >>> read_as(table, columns, {"mass": 0, "on": 1})
    Reading(decimal=',', day_first=False, units={'mass': 'kg'}, temperature='')
    """
    units = {name: unit for name, at in places.items() if (unit := unit_of(table.headers[at]))}
    if asked is not None:
        return replace(asked, units=units)
    numbers = _cells(table, columns, places, NUMBERS)
    return Reading(_decimal(numbers), order_of_dates(table, columns, places) is not False, units)


def order_of_dates(
    table: Table, columns: Sequence[Column], places: Mapping[str, int]
) -> bool | None:
    """Whether dates have the day first; None where some could be read either way and none tells.

    Parameters
    ----------
    places : of the columns in the table

    Examples
    --------
    >>> from studio.services.lists.table import read_table
    >>> columns = [Column("on", "on", holds="date")]
    >>> days = ("03/04/2024", "03/14/2024", "2024-04-03")
    >>> tables = (read_table(f"on,what\\n{day},tile\\n".encode()) for day in days)
    >>> [order_of_dates(table, columns, {"on": 0}) for table in tables]
    [None, False, True]
    """
    cells = _cells(table, columns, places, {"date"})
    pairs = [found for cell in cells if (found := _EITHER_WAY.match(cell))]
    if any(int(pair[2]) > 12 for pair in pairs):
        return False
    return None if pairs and all(int(pair[1]) <= 12 for pair in pairs) else True


def unit_of(header: str) -> str:
    """The unit that a header names behind its words, in small letters; empty without one.

    Examples
    --------
    >>> unit_of("Length (in)"), unit_of("mass, kg"), unit_of("colour")
    ('in', 'kg', '')
    """
    found = _UNIT.search(header)
    return found[1].lower().replace("inches", "in").replace("inch", "in") if found else ""


def _bare(header: str) -> str:
    words = re.sub(r"[(\[].*", "", header.replace("_", " ")).partition(",")[0]
    return folded(re.sub(r"[^\w\s]", " ", words))


def _cells(
    table: Table, columns: Sequence[Column], places: Mapping[str, int], holds: AbstractSet[str]
) -> list[str]:
    at = [places[each.name] for each in columns if each.holds in holds and each.name in places]
    return [row.cells[place] for row in table.rows[:_LOOKED_AT] for place in at]


def _decimal(cells: Sequence[str]) -> str:
    """A comma with three digits behind it may part thousands; any other number of them can't."""
    commas = sum(1 for cell in cells if re.search(r"\d,(\d{1,2}|\d{4,})(?![\d.,])", cell))
    points = sum(1 for cell in cells if re.search(r"\d\.(\d{1,2}|\d{4,})(?![\d.,])", cell))
    return "," if commas > points else "."
