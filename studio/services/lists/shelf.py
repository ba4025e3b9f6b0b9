"""The shelf as a list: what becomes of a row of it, held against what is on record."""

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from studio.services.lists.columns import Column
from studio.services.lists.fates import CHANGED, NEW, REFUSED, SAME, Change, Judged, RefusedError
from studio.services.lists.known_glass import (
    GlassIndex,
    KnownGlass,
    described,
    differing,
    new_glass,
)
from studio.services.lists.known_shelf import (
    AREA,
    COUNT,
    LENGTH,
    MASS,
    MEASURES,
    KnownLot,
    LotChange,
    NewLot,
    Shelf,
)
from studio.services.lists.values import METRES, MG, MM, Reading, text
from studio.services.stock import LONGEST_MM, MOST_PIECES, MOST_UNITS, Rectangle

COLUMNS = (
    Column("lot", "lot", ("lot number", "lot no")),
    Column("family", "family", ("glass family", "compatible with")),
    Column("maker", "maker", ("manufacturer", "made by", "brand")),
    Column("code", "code", ("maker's code", "glass code", "item", "item number", "number")),
    Column("colour", "colour", ("color", "name", "glass", "description")),
    Column("form", "form", ("type", "kind")),
    Column("look", "look", ("transparency", "finish")),
    Column("thickness", "thickness (mm)", ("thick",), holds="number"),
    Column("size", "size (mm)", ("dimensions", "sheet size"), saved=False),
    Column("length", "length (mm)", ("long",), holds="number"),
    Column("width", "width (mm)", ("wide",), holds="number"),
    Column("pieces", "pieces", ("count", "quantity", "qty", "how many", "sheets"), holds="number"),
    Column("mass", "mass (g)", ("weight", "grams"), holds="number"),
    Column("metres", "length in all (m)", ("metres", "meters", "total length"), holds="number"),
    Column("received", "received", ("received on", "date", "bought", "bought on"), holds="date"),
    Column("supplier", "supplier", ("bought from", "vendor", "shop", "from")),
    Column("batch", "batch", ("batch number", "run")),
    Column("place", "place", ("where", "where it is", "location", "rack")),
    Column("price", "price", ("cost", "price of all of it", "paid"), holds="number"),
    Column("currency", "currency"),
)

_BY_COLUMN = {"mass": MASS, "metres": LENGTH, "pieces": COUNT}
_LONGEST = {"supplier": 80, "batch": 60, "place": 80}
_SIGNS = {"€": "EUR", "£": "GBP", "¥": "JPY"}
_SIZE = re.compile(r"(.+?)\s*[x×*]\s*(.+)", re.IGNORECASE)


class ShelfJudge:
    """Judges the rows of one file, in their order: a row may rest on an earlier one.

    Examples
    --------
    >>> import datetime as dt
    >>> shelf = Shelf(("soft 90",), (), {}, "EUR", dt.date(2026, 5, 4))
    >>> judge = ShelfJudge(shelf, Reading())
    >>> row = {"family": "soft 90", "colour": "moss", "form": "frit", "mass": "1,5 kg"}
    >>> judged = judge.judge(2, row)
    >>> judged.fate, judged.says, judged.plan.amount
    ('new', 'moss frit', 1500000)
    >>> judge.judge(3, {"lot": "7"}).reason
    Reason(code='lot_unknown', column='lot', figures={'cell': '7'})
    """

    def __init__(self, shelf: Shelf, reading: Reading) -> None:
        self._shelf = shelf
        self._reading = reading
        self._index = GlassIndex(shelf.families, shelf.kinds)
        self._kinds = {kind.key: kind for kind in shelf.kinds}
        self._counted: dict[tuple[int, Rectangle | None], int] = {}
        self._said_of: dict[int, tuple[int, dict[str, Any]]] = {}

    def judge(self, line: int, cells: Mapping[str, str]) -> Judged:
        """What becomes of a row.

        Parameters
        ----------
        line : of the file, from 1
        cells : by the name of their column; a missing or empty one says nothing

        Examples
        --------
        >>> import datetime as dt
        >>> shelf = Shelf((), (), {}, "EUR", dt.date(2026, 5, 4))
        >>> ShelfJudge(shelf, Reading()).judge(2, {"colour": "moss"}).reason.code
        'glass_unknown'
        """
        said: dict[str, Any] = {}
        try:
            said = described(cells, self._reading)
            if cells.get("lot"):
                return self._of_lot(line, cells, said)
            return self._new(line, cells, said)
        except RefusedError as refused:
            says = " ".join(filter(None, (said.get("colour"), said.get("code"))))
            return Judged(line, REFUSED, says, refused.reason)

    def _new(self, line: int, cells: Mapping[str, str], said: Mapping[str, Any]) -> Judged:
        found = self._index.find(said)
        kind = found or new_glass(self._index, said)
        measure, amount, size = self._amount(cells, kind, least=1)
        fields = self._fields(cells, self._shelf.currency)
        if found is None:
            kind = replace(kind, measure=measure)
            self._index.add(kind)
        elif not kind.measure:
            kind = self._index.change(kind, measure=measure)
        shown = {} if found else {"glass": kind.says}
        if size is not None:
            shown |= {"length": f"{size.length} mm", "width": f"{size.width} mm"}
        shown[_column_of(measure)] = _amount_shown(amount, measure)
        currency = self._shelf.currency
        shown |= {name: _shown(value, currency) for name, value in fields.items()}
        changes = tuple(Change(name, "", value) for name, value in shown.items())
        return Judged(
            line, NEW, kind.says, changes=changes, plan=NewLot(kind, measure, amount, size, fields)
        )

    def _of_lot(self, line: int, cells: Mapping[str, str], said: Mapping[str, Any]) -> Judged:
        number, _ = self._reading.number(cells["lot"], "lot")
        lot = self._shelf.lots.get(int(number)) if number == int(number) else None
        if lot is None:
            raise RefusedError("lot_unknown", "lot", cell=cells["lot"])
        kind = self._kinds[lot.glass]
        if other := differing(kind, said):
            raise RefusedError("lot_of_other_glass", other, glass=kind.says, lot=lot.key)
        found, size, before = self._found(line, cells, lot)
        fields = self._fields(cells, lot.currency)
        fields = {name: value for name, value in fields.items() if value != getattr(lot, name)}
        self._agrees_with_others(line, cells, lot, fields)
        changes = [
            Change(name, _shown(getattr(lot, name), lot.currency), _shown(new, lot.currency))
            for name, new in fields.items()
        ]
        if found is not None and found != before:
            changes.append(Change(_column_of(lot.measure), _amount_shown(before, lot.measure),
                                  _amount_shown(found, lot.measure)))  # fmt: skip
        of_size = f", {size.length} × {size.width} mm" if size else ""
        says = f"{kind.says}, lot {lot.key}{of_size}"
        if not changes:
            return Judged(line, SAME, says)
        plan = LotChange(lot, found if found != before else None, size, fields)
        return Judged(line, CHANGED, says, changes=tuple(changes), plan=plan)

    def _found(
        self, line: int, cells: Mapping[str, str], lot: KnownLot
    ) -> tuple[int | None, Rectangle | None, int]:
        """What the row says is there of a lot, or None; of which size; and what is on record."""
        silent = not any(cells.get(name) for name in ("size", "length", "width", *_BY_COLUMN))
        if silent:
            return None, None, lot.remaining
        kind = replace(self._kinds[lot.glass], measure=lot.measure)
        _, found, size = self._amount(cells, kind, least=0)
        earlier = self._counted.setdefault((lot.key, size), line)
        if earlier != line:
            raise RefusedError("counted_twice", "lot", line=earlier, lot=lot.key)
        return found, size, lot.remaining if size is None else lot.sizes.get(size, 0)

    def _agrees_with_others(
        self, line: int, cells: Mapping[str, str], lot: KnownLot, fields: dict[str, Any]
    ) -> None:
        """A lot of several sizes has several rows: they may not say different things of it."""
        stated = {name for name in (*_LONGEST, "received", "price") if cells.get(name)}
        said = {name: fields.get(name, getattr(lot, name)) for name in stated}
        earlier, before = self._said_of.setdefault(lot.key, (line, {}))
        for name, value in said.items():
            if before.setdefault(name, value) != value:
                raise RefusedError("rows_differ", name, line=earlier, lot=lot.key)

    def _amount(
        self, cells: Mapping[str, str], kind: KnownGlass, least: int
    ) -> tuple[str, int, Rectangle | None]:
        """Measure, amount and size: of sheet the pieces of a size, else steps of the measure."""
        read, measures = self._reading, MEASURES[kind.form]
        if AREA in (kind.measure, *measures[:1]):
            size = self._size(cells)
            if not cells.get("pieces"):
                raise RefusedError("missing", "pieces")
            return AREA, read.whole(cells["pieces"], "pieces", least, MOST_PIECES), size
        given = [name for name in _BY_COLUMN if cells.get(name)]
        if kind.measure:
            given = [name for name in given if _BY_COLUMN[name] == kind.measure] or given
        if len(given) > 1:
            raise RefusedError("two_amounts", given[1], other=given[0])
        if not given:
            raise RefusedError("missing", _column_of(kind.measure or measures[0]))
        name = given[0]
        measure = _BY_COLUMN[name]
        if measure != kind.measure and (kind.measure or measure not in measures):
            by = (
                _column_of(kind.measure) if kind.measure else " or ".join(map(_column_of, measures))
            )
            raise RefusedError("measured_otherwise", name, glass=kind.says, by=by)
        if measure == COUNT:
            return measure, read.whole(cells[name], name, least, MOST_UNITS), None
        units = MG if measure == MASS else METRES
        smallest = Decimal("0.001") if least else 0
        return measure, read.steps(cells[name], name, units, smallest, MOST_UNITS), None

    def _size(self, cells: Mapping[str, str]) -> Rectangle:
        sides = {name: cells.get(name, "") for name in ("length", "width")}
        column = {"length": "length", "width": "width"}
        if cells.get("size") and not any(sides.values()):
            found = _SIZE.fullmatch(cells["size"].strip())
            if found is None:
                raise RefusedError("not_a_size", "size", cell=cells["size"], most=LONGEST_MM)
            one, other = found[1], found[2]
            if one.isdecimal():  # 50 × 40 cm
                one += other.lstrip("0123456789., ")
            sides = {"length": one, "width": other}
            column = {"length": "size", "width": "size"}
        for name, cell in sides.items():
            if not cell:
                raise RefusedError("missing", name)
        return Rectangle(
            *(self._reading.steps(sides[name], column[name], MM, 1, LONGEST_MM) for name in sides)
        )

    def _fields(self, cells: Mapping[str, str], currency: str) -> dict[str, Any]:
        """Of a lot, what the row says beside its amount."""
        fields: dict[str, Any] = {
            name: text(cells[name], name, longest)
            for name, longest in _LONGEST.items()
            if cells.get(name)
        }
        if cells.get("received"):
            day = self._reading.date(cells["received"], "received")
            if day > self._shelf.today:
                raise RefusedError("still_to_come", "received", cell=cells["received"])
            fields["received"] = day
        if cells.get("currency") and cells["currency"].strip().upper() != currency:
            raise RefusedError(
                "other_currency", "currency", cell=cells["currency"], currency=currency
            )
        if cells.get("price"):
            fields["price"] = self._price(cells["price"], currency)
        return fields

    def _price(self, cell: str, currency: str) -> Decimal:
        number, unit = self._reading.number(cell, "price")
        unit = unit.strip().upper()
        known = _SIGNS.get(unit, unit)
        if known not in ("", "$", currency) or (known == "$" and currency[-1] != "D"):
            raise RefusedError("other_currency", "price", cell=cell, currency=currency)
        exponent = number.normalize().as_tuple().exponent
        if isinstance(exponent, int) and exponent < -4:
            raise RefusedError("too_many_decimals", "price", cell=cell, most=4)
        if not 0 <= number < 10**8:
            raise RefusedError(
                "beyond", "price", there=f"{number:f}", least=0, most="99999999.9999", unit=currency
            )
        return number


def _column_of(measure: str) -> str:
    return {AREA: "pieces", MASS: "mass", LENGTH: "metres", COUNT: "pieces"}[measure]


def _amount_shown(amount: int, measure: str) -> str:
    unit = {MASS: "g", LENGTH: "m"}.get(measure)
    return f"{Decimal(amount) / 1000:f} {unit}" if unit else str(amount)


def _shown(value: Any, currency: str) -> str:
    if value is None:
        return ""
    return f"{value.normalize():f} {currency}" if isinstance(value, Decimal) else str(value)
