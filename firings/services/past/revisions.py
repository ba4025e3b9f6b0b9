"""Which revision a row of past firings was fired by: one on record, or one that it puts there."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from firings.services.past.cells import COLDEST_C, LONGEST_S, Cells, filled, in_unit
from firings.services.past.columns import MOST_SEGMENTS, part_of
from firings.services.past.known import KnownKiln, KnownRevision, KnownSchedule, NewRevision, Past
from schedules.services.writing import WrittenSegment
from studio.services.lists.degrees import FULL_POWER, require_within
from studio.services.lists.fates import RefusedError
from studio.services.lists.moments import lasting_s
from studio.services.lists.values import Reading, folded
from studio.services.units import rate_to_celsius, to_celsius

FASTEST_C_PER_H = 1000.0
PARTS = ("rate", "target", "hold")
DECIMALS = 2

Written = tuple[str, tuple[WrittenSegment, ...]]
"""A unit, and segments in it."""


class Revisions:
    """Finds each row's revision; what one row puts on record, later rows find.

    A row that tells the segments goes by them, whatever number it gives. One that doesn't needs a
    schedule on record: its revision of that number, or the only one that it has.
    """

    def __init__(self, past: Past, reading: Reading, cells: Cells) -> None:
        self._reading, self._cells = reading, cells
        self._schedules: dict[str, list[KnownSchedule]] = {}
        for schedule in past.schedules:
            self._schedules.setdefault(folded(schedule.name), []).append(schedule)
        self._new: dict[str, list[NewRevision]] = {}

    def named(self, name: str) -> list[KnownSchedule]:
        """Those on record that are called so."""
        return self._schedules.get(folded(name), [])

    def find(
        self, line: int, name: str, cells: Mapping[str, str], kiln: KnownKiln, of_row: str
    ) -> int | NewRevision:
        """The key of a revision on record, or a new one.

        Raises
        ------
        RefusedError
            "schedule_unknown", "schedule_ambiguous", "revision_unknown", "revision_not_said",
            "segments_not_here", "schedule_needs", and for segments that can't be read
        """
        number = self._cells.number(cells, "revision")
        written = self._segments(cells, kiln, of_row)
        standing = self.named(name)
        if len(standing) > 1:
            raise RefusedError("schedule_ambiguous", "schedule", cell=name, there=len(standing))
        if standing:
            return _of_schedule(standing[0], number, written)
        return self._of_rows(line, name, number, written, cells)

    def keep(self, revision: NewRevision) -> None:
        """Take in what a row puts on record, once the row is taken."""
        there = self._new.setdefault(folded(revision.schedule), [])
        if revision not in there:
            there.append(revision)

    def _of_rows(
        self,
        line: int,
        name: str,
        number: int | None,
        written: Written | None,
        cells: Mapping[str, str],
    ) -> NewRevision:
        there = self._new.get(folded(name), [])
        if written is None:
            if len(there) == 1 and number in (None, 1):
                return there[0]
            if there:
                raise RefusedError("revision_not_said", "revision", schedule=name, there=len(there))
            raise RefusedError("schedule_unknown", "schedule", cell=name)
        for each in there:
            if (each.unit, each.segments) == written:
                return each
        first = there[0] if there else self._facts(name, cells, line, written)
        return NewRevision(
            first.schedule,
            first.process,
            first.family,
            first.thickness,
            len(there) + 1,
            *written,
            line=line,
        )

    def _facts(
        self, name: str, cells: Mapping[str, str], line: int, written: Written
    ) -> NewRevision:
        """What else a schedule has, of its first row."""
        process = self._cells.process(cells)
        thickness = self._cells.millimetres(cells, "thickness", "0.5", 100)
        family = self._cells.family(cells)
        missing = [
            word
            for word, value in (
                ("process", process),
                ("thickness", thickness),
                ("glass or family", family or process == "metal_clay"),
            )
            if not value
        ]
        if missing or thickness is None:
            raise RefusedError("schedule_needs", "schedule", cell=name, missing=", ".join(missing))
        return NewRevision(name, process, family, thickness, 1, *written, line=line)

    def _segments(self, cells: Mapping[str, str], kiln: KnownKiln, of_row: str) -> Written | None:
        """As the row tells them; None where it tells none."""
        last = max(
            (at for at in range(1, MOST_SEGMENTS + 1) if filled(cells, _names(at))), default=0
        )
        if not last:
            return None
        units: set[str] = set()
        found = [self._segment(at, cells, kiln, of_row, units) for at in range(1, last + 1)]
        if len(units) != 1:
            raise RefusedError("segments_mix_units", part_of(1, "target"))
        return units.pop(), tuple(found)

    def _segment(
        self, at: int, cells: Mapping[str, str], kiln: KnownKiln, of_row: str, units: set[str]
    ) -> WrittenSegment:
        rate_name, target_name, hold_name = _names(at)
        for name in (rate_name, target_name):
            if not cells.get(name):
                raise RefusedError("missing", name)
        target, unit = self._cells.written(cells[target_name], target_name, of_row)
        units.add(unit)
        target_c = float(to_celsius(float(target), unit))
        if target_c > kiln.highest + 1e-6:
            raise RefusedError(
                "above_kiln", target_name, there=f"{target.normalize():f} °{unit}", kiln=kiln.name,
                highest=in_unit(kiln.highest, unit),
            )  # fmt: skip
        require_within(target_c, target, unit, target_name, COLDEST_C, kiln.highest)
        rate = self._rate(cells[rate_name], rate_name, of_row, units)
        return WrittenSegment(rate, _kept(target, target_name), self._hold(cells, hold_name))

    def _rate(self, cell: str, name: str, of_row: str, units: set[str]) -> Decimal | None:
        if folded(cell) in FULL_POWER:
            return None
        rate, unit = self._cells.written(cell, name, of_row)
        units.add(unit)
        fastest = FASTEST_C_PER_H if unit == "C" else FASTEST_C_PER_H * 1.8
        if not 0 < rate_to_celsius(float(rate), unit) <= FASTEST_C_PER_H + 1e-6:
            raise RefusedError("beyond", name, there=f"{rate.normalize():f}", least="0.01",
                               most=f"{fastest:g}", unit=f"°{unit}/h")  # fmt: skip
        return _kept(rate, name)

    def _hold(self, cells: Mapping[str, str], name: str) -> Decimal:
        cell = cells.get(name, "")
        seconds = lasting_s(cell, name, self._reading, LONGEST_S) if cell else 0
        if seconds % 60:
            raise RefusedError("not_whole", name, cell=cell)
        return Decimal(seconds // 60)


def _of_schedule(schedule: KnownSchedule, number: int | None, written: Written | None) -> int:
    if written is not None:
        same = [each for each in schedule.revisions if (each.unit, each.segments) == written]
        of_number = [each for each in same if each.number == number]
        if not same:
            raise RefusedError("segments_not_here", "schedule", cell=schedule.name)
        return (of_number or same)[0].key
    numbered: Sequence[KnownRevision] = schedule.revisions
    if number is not None:
        numbered = [each for each in schedule.revisions if each.number == number]
    if len(numbered) == 1:
        return numbered[0].key
    if not numbered:
        raise RefusedError("revision_unknown", "revision", cell=number, schedule=schedule.name)
    raise RefusedError("revision_not_said", "revision", schedule=schedule.name, there=len(numbered))


def _names(at: int) -> tuple[str, str, str]:
    return part_of(at, "rate"), part_of(at, "target"), part_of(at, "hold")


def _kept(number: Decimal, name: str) -> Decimal:
    exponent = number.normalize().as_tuple().exponent
    if isinstance(exponent, int) and exponent < -DECIMALS:
        raise RefusedError("too_many_decimals", name, cell=number, most=DECIMALS)
    return number
