"""Kinds of glass as a list: what becomes of a row of it, held against what is on record."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import pairwise
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
from studio.services.lists.known_shelf import MEASURES
from studio.services.lists.shelf import COLUMNS as SHELF_COLUMNS
from studio.services.lists.values import Reading, yes
from studio.services.units import to_celsius

POINTS = {"strain": (250, 800), "annealing": (300, 850), "softening": (400, 1100)}
"""°C between which each point of a glass lies; a test holds them against the models' limits."""
MOST_EXPANSION = 200
LONGEST_NOTE = 4_000
CARRIES = ("sulphur", "copper", "lead", "silver")

COLUMNS = (
    Column("glass", "glass", ("glass number",)),
    *(each for each in SHELF_COLUMNS[1:8]),
    Column("strain", "strain point (°C)", ("strain",), holds="number"),
    Column("annealing", "annealing point (°C)", ("annealing", "anneal point"), holds="number"),
    Column("softening", "softening point (°C)", ("softening",), holds="number"),
    Column("expansion", "expansion", ("expansion 10⁻⁷ per K", "coe"), holds="number"),
    Column("sulphur", "sulphur or selenium", ("sulphur", "sulfur", "selenium")),
    Column("copper", "copper"),
    Column("lead", "lead"),
    Column("silver", "silver"),
    Column("note", "note", ("notes", "remark", "remarks")),
)


@dataclass(frozen=True)
class GlassRecord:
    """A kind on record with all that a list may change of it.

    Parameters
    ----------
    more : points in °C, expansion in 10⁻⁷ per K, what it carries, its note, by their column
    """

    kind: KnownGlass
    more: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class GlassShelf:
    """All that rows of kinds of glass are held against."""

    families: tuple[str, ...]
    records: Mapping[int, GlassRecord]


class GlassJudge:
    """Judges the rows of one file, in their order.

    Examples
    --------
    >>> moss = KnownGlass(4, "soft 90", "", "s-204", "moss", "sheet", "transparent", 3.0)
    >>> record = GlassRecord(moss, {"strain": 480.0, "expansion": None})
    >>> judge = GlassJudge(GlassShelf(("soft 90",), {4: record}), Reading())
    >>> judge.judge(2, {"code": "s-204", "expansion": "90"}).changes
    (Change(column='expansion', before='', after='90'),)
    >>> judge.judge(3, {"code": "s-204", "colour": "moss"}).reason
    Reason(code='named_twice', column='', figures={'line': '2', 'glass': 'moss sheet 3 mm (s-204)'})
    """

    def __init__(self, shelf: GlassShelf, reading: Reading) -> None:
        self._records = shelf.records
        self._reading = reading
        self._index = GlassIndex(shelf.families, (each.kind for each in shelf.records.values()))
        self._lines: dict[KnownGlass | int, int] = {}

    def judge(self, line: int, cells: Mapping[str, str]) -> Judged:
        """What becomes of a row.

        Parameters
        ----------
        line : of the file, from 1
        cells : by the name of their column; a missing or empty one says nothing

        Examples
        --------
        >>> judge = GlassJudge(GlassShelf(("soft 90",), {}), Reading(units={"strain": "°f"}))
        >>> row = {"family": "soft 90", "colour": "moss", "form": "frit", "strain": "900"}
        >>> judged = judge.judge(2, row)
        >>> judged.fate, round(judged.plan.more["strain"], 1)
        ('new', 482.2)
        """
        said: dict[str, Any] = {}
        try:
            said = described(cells, self._reading)
            more = self._more(cells)
            if "family" in said:
                said["family"] = self._index.family(said["family"])
            record = self._record(cells, said)
            return self._known(line, record, said, more) if record else self._new(line, said, more)
        except RefusedError as refused:
            says = " ".join(filter(None, (said.get("colour"), said.get("code"))))
            return Judged(line, REFUSED, says, refused.reason)

    def _record(self, cells: Mapping[str, str], said: Mapping[str, Any]) -> GlassRecord | None:
        if cells.get("glass"):
            number, _ = self._reading.number(cells["glass"], "glass")
            record = self._records.get(int(number)) if number == int(number) else None
            if record is None:
                raise RefusedError("glass_number_unknown", "glass", cell=cells["glass"])
            return record
        # Its colour, look and family may be put right by its code; without one they name it.
        names = ("maker", "code", "form", "thickness") if "code" in said else tuple(said)
        kind = self._index.find({name: said[name] for name in names if name in said})
        if kind is None:
            return None
        if kind.key is None:
            raise RefusedError("named_twice", line=self._lines[kind], glass=kind.says)
        return self._records[kind.key]

    def _new(self, line: int, said: Mapping[str, Any], more: Mapping[str, Any]) -> Judged:
        kind = new_glass(self._index, said)
        _rising(more)
        self._index.add(kind)
        self._lines[kind] = line
        changes = tuple(
            Change(name, "", shown)
            for name, value in {**said, **more}.items()
            if value is not False and (shown := _shown(value))
        )
        return Judged(line, NEW, kind.says, changes=changes, plan=GlassRecord(kind, more))

    def _known(
        self, line: int, record: GlassRecord, said: Mapping[str, Any], more: Mapping[str, Any]
    ) -> Judged:
        kind = record.kind
        earlier = self._lines.setdefault(kind.key or 0, line)
        if earlier != line:
            raise RefusedError("named_twice", line=earlier, glass=kind.says)
        other = replace(kind, **said) if differing(kind, said) else kind
        if kind.measure and kind.measure not in MEASURES[other.form]:
            raise RefusedError("form_has_lots", "form", glass=kind.says)
        if same := self._index.same_code(other):
            raise RefusedError("code_of_another", "code", glass=same.says)
        after = {**record.more, **more}
        _rising(after)
        before = {name: getattr(kind, name) for name in said} | dict(record.more)
        now = {name: getattr(other, name) for name in said} | after
        changes = tuple(
            Change(name, _shown(before.get(name)), _shown(value))
            for name, value in now.items()
            if value != before.get(name)
        )
        if not changes:
            return Judged(line, SAME, kind.says)
        if other != kind:
            self._index.change(kind, **{name: getattr(other, name) for name in said})
        return Judged(line, CHANGED, kind.says, changes=changes, plan=GlassRecord(other, after))

    def _more(self, cells: Mapping[str, str]) -> dict[str, Any]:
        more: dict[str, Any] = {}
        for name, (lowest, highest) in POINTS.items():
            if cells.get(name):
                more[name] = self._temperature(cells[name], name, lowest, highest)
        if cells.get("expansion"):
            number, _ = self._reading.number(cells["expansion"], "expansion")
            if not 0 <= number <= MOST_EXPANSION:
                raise RefusedError("beyond", "expansion", there=f"{number:f}", least=0,
                                   most=MOST_EXPANSION, unit="10⁻⁷ per K")  # fmt: skip
            more["expansion"] = float(number)
        more |= {name: yes(cells[name], name) for name in CARRIES if cells.get(name)}
        if cells.get("note"):
            more["note"] = note = cells["note"]
            if len(note) > LONGEST_NOTE:
                raise RefusedError("too_long", "note", most=LONGEST_NOTE, there=len(note))
        return more

    def _temperature(self, cell: str, name: str, lowest: int, highest: int) -> float:
        number, beside = self._reading.number(cell, name)
        unit = (beside or self._reading.units.get(name, "") or "c").strip("° ").removeprefix("deg")
        if unit not in ("c", "f"):
            raise RefusedError("unit_unknown", name, cell=cell, units="°C, °F")
        value_c = float(number) if unit == "c" else round(float(to_celsius(float(number), "F")), 6)
        if not lowest <= value_c <= highest:
            raise RefusedError(
                "beyond", name, there=f"{value_c:g}", least=lowest, most=highest, unit="°C"
            )
        return value_c


def _rising(more: Mapping[str, Any]) -> None:
    known = [(name, more[name]) for name in POINTS if more.get(name) is not None]
    for (lower, low), (upper, high) in pairwise(known):
        if high <= low:
            raise RefusedError("points_fall", upper, lower=lower, there=f"{low:g}")


def _shown(value: Any) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{Decimal(repr(value)).normalize():f}"
    return str(value)
