"""A row of past firings read cell by cell, apart from its schedule."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from firings.services.past.known import KnownKiln, Past, PastPiece
from firings.services.past.names import Names, parts_of, verdict_of, word_of, words_in
from studio.services.lists.degrees import degrees, require_within, unit_named
from studio.services.lists.fates import RefusedError
from studio.services.lists.moments import clock, lasting_s, moment
from studio.services.lists.values import MM, Reading, text
from studio.services.units import to_celsius

COLDEST_C = 20.0
LONGEST_S = 10 * 86_400
LONGEST_NAME, LONGEST_NOTES, LONGEST_CHANGED, LONGEST_SCHEDULE = 120, 4_000, 200, 80
MOST_KWH = 100_000
NOON = dt.time(12)


@dataclass(frozen=True)
class When:
    """When a firing began and ended, by the studio's clock; at noon where only the day is known."""

    starts: dt.datetime
    knows_time: bool
    opens: dt.datetime | None


@dataclass(frozen=True)
class Who:
    """The pieces that a row names with their makers, and who fired it: keys.

    `is_said` is false where nobody is named, and whoever brings the row in stands for them;
    `is_clear` is false where it can't be told who made which.
    """

    titles: tuple[str, ...]
    makers: tuple[int, ...]
    fired_by: int
    is_said: bool
    is_clear: bool
    words: str


@dataclass(frozen=True)
class Seen:
    """What was seen of a firing; temperatures in °C, times in s. `written` is the peak as it stands
    in the row."""

    peak: float | None
    written: str
    hold: int | None
    verdict: int | None


class Cells:
    """Reads the cells of one file's rows."""

    def __init__(self, past: Past, reading: Reading, now: dt.datetime) -> None:
        self._past, self._reading, self._now = past, reading, now
        self._people = {person.key: person.name for person in past.people}
        self.names = Names(past)

    def unit(self, cells: Mapping[str, str]) -> str:
        """Of a row: "C", "F" or empty.

        Raises `RefusedError` "unit_unknown".
        """
        cell = cells.get("unit", "")
        unit = unit_named(cell.lower())
        if cell and not unit:
            raise RefusedError("unit_unknown", "unit", cell=cell, units="°C, °F")
        return unit

    def when(self, cells: Mapping[str, str]) -> When:
        """Raises `RefusedError` for a day that is none, missing or still to come."""
        cell = cells.get("started", "")
        if not cell:
            raise RefusedError("missing", "started")
        day, time = moment(cell, "started", self._reading)
        if cells.get("time"):
            time = clock(cells["time"], "time")
        starts = dt.datetime.combine(day, NOON if time is None else time)
        if day > self._past.today or (time is not None and starts > self._now):
            raise RefusedError("still_to_come", "started", cell=cell)
        return When(starts, time is not None, self._opens(cells, starts, time is not None))

    def _opens(
        self, cells: Mapping[str, str], starts: dt.datetime, knows_time: bool
    ) -> dt.datetime | None:
        cell = cells.get("opened", "")
        if not cell:
            return None
        day, time = moment(cell, "opened", self._reading)
        if day > self._past.today:
            raise RefusedError("still_to_come", "opened", cell=cell)
        if time is None or not knows_time:
            if day < starts.date():
                raise RefusedError("opened_before", "opened", cell=cell)
            return None
        opens = dt.datetime.combine(day, time)
        if opens <= starts:
            raise RefusedError("opened_before", "opened", cell=cell)
        return opens

    def schedule(self, cells: Mapping[str, str]) -> str:
        cell = text(cells.get("schedule", ""), "schedule", LONGEST_SCHEDULE)
        if not cell:
            raise RefusedError("missing", "schedule")
        return cell

    def kiln(self, cells: Mapping[str, str]) -> KnownKiln:
        if not cells.get("kiln"):
            raise RefusedError("missing", "kiln")
        return self.names.kiln(cells["kiln"])

    def who(self, cells: Mapping[str, str]) -> Who:
        """Whoever brings it in stands for whom nobody names.

        Raises `RefusedError` where a name is unknown.
        """
        words = " ".join(cells.get("pieces", "").split())
        titles = [text(each, "pieces", LONGEST_NAME) for each in parts_of(words)]
        makers = [
            self.names.person(each, "makers").key for each in parts_of(cells.get("makers", ""))
        ]
        fired = cells.get("fired_by", "")
        fired_by = self.names.person(fired, "fired_by").key if fired else None
        is_said = bool(makers or fired_by)
        by = fired_by or (makers[0] if makers else self._past.bringer)
        makers = makers or [by]
        if len(makers) == 1:
            makers *= max(len(titles), 1)
        is_clear = len(makers) == max(len(titles), 1)
        return Who(tuple(titles), tuple(makers), by, is_said, is_clear, words)

    def name_of(self, person: int) -> str:
        return self._people[person]

    def seen(self, cells: Mapping[str, str], kiln: KnownKiln, of_row: str) -> Seen:
        """Raises `RefusedError` for what can't be read, or was beyond the kiln."""
        peak, written = self.temperature(cells, "peak", kiln, of_row)
        hold = self.lasting(cells, "hold")
        verdict = cells.get("verdict", "")
        return Seen(
            peak, written, hold, verdict_of(verdict, self._past.words.verdicts) if verdict else None
        )

    def temperature(
        self, cells: Mapping[str, str], name: str, kiln: KnownKiln, of_row: str
    ) -> tuple[float | None, str]:
        """°C and as it is written, at most what the kiln's record allows."""
        cell = cells.get(name, "")
        if not cell:
            return None, ""
        number, unit = degrees(cell, name, self._reading, of_row)
        value_c = float(to_celsius(float(number), unit))
        if value_c > kiln.highest + 1e-6:
            raise RefusedError(
                "above_kiln", name, there=f"{number.normalize():f} °{unit}", kiln=kiln.name,
                highest=in_unit(kiln.highest, unit),
            )  # fmt: skip
        require_within(value_c, number, unit, name, COLDEST_C, kiln.highest)
        return value_c, f"{number.normalize():f} °{unit}"

    def lasting(self, cells: Mapping[str, str], name: str) -> int | None:
        cell = cells.get(name, "")
        return lasting_s(cell, name, self._reading, LONGEST_S) if cell else None

    def energy(self, cells: Mapping[str, str]) -> Decimal | None:
        cell = cells.get("energy", "")
        if not cell:
            return None
        number, unit = self._reading.number(cell, "energy")
        if unit not in ("", "kwh"):
            raise RefusedError("unit_unknown", "energy", cell=cell, units="kWh")
        if not 0 <= number <= MOST_KWH:
            raise RefusedError("beyond", "energy", there=f"{number:f}", least=0,
                               most=MOST_KWH, unit="kWh")  # fmt: skip
        return round(number, 2)

    def piece(self, cells: Mapping[str, str], title: str, maker: int, seen: Seen) -> PastPiece:
        """The piece that the schedule serves, with all that the row says of it."""
        faults = cells.get("faults", "")
        glass = cells.get("glass", "")
        layers = cells.get("layers", "")
        return PastPiece(
            title,
            maker,
            glass=self.names.glass(glass).key if glass else None,
            layers=self._reading.whole(layers, "layers", 1, 40) if layers else 1,
            thickness=self.millimetres(cells, "thickness", "0.5", 100),
            length=self.millimetres(cells, "length", "0.1", 3000),
            width=self.millimetres(cells, "width", "0.1", 3000),
            verdict=seen.verdict,
            faults=words_in(faults, "faults", self._past.words.faults) if faults else (),
        )

    def millimetres(
        self, cells: Mapping[str, str], name: str, least: str, most: int
    ) -> float | None:
        cell = cells.get(name, "")
        if not cell:
            return None
        number, unit = self._reading.number(cell, name)
        unit = unit or self._reading.units.get(name, "") or "mm"
        if unit not in MM:
            raise RefusedError("unit_unknown", name, cell=cell, units=", ".join(MM))
        value = number * MM[unit]
        if not Decimal(least) <= value <= most:
            there = f"{value.normalize():f}"
            raise RefusedError("beyond", name, there=there, least=least, most=most, unit="mm")
        return float(value)

    def family(self, cells: Mapping[str, str]) -> str:
        """Of its own column, or of the glass; empty without either."""
        if cells.get("family"):
            return self.names.family(cells["family"])
        return self.names.glass(cells["glass"]).family if cells.get("glass") else ""

    def process(self, cells: Mapping[str, str]) -> str:
        """Its code; empty where the row says none."""
        cell = cells.get("process", "")
        return word_of(cell, "process", self._past.words.processes) if cell else ""

    def changed(self, cells: Mapping[str, str]) -> tuple[tuple[str, ...], str]:
        """What else was changed: codes, and in words what is none."""
        codes: list[str] = []
        words: list[str] = []
        for part in parts_of(cells.get("changed", "")):
            try:
                codes.append(word_of(part, "changed", self._past.words.changes))
            except RefusedError:
                words.append(part)
        return tuple(dict.fromkeys(codes)), text("; ".join(words), "changed", LONGEST_CHANGED)

    def notes(self, cells: Mapping[str, str]) -> str:
        notes = cells.get("notes", "")
        if len(notes) > LONGEST_NOTES:
            raise RefusedError("too_long", "notes", most=LONGEST_NOTES, there=len(notes))
        return notes

    def number(self, cells: Mapping[str, str], name: str) -> int | None:
        """A number by which something is called: of a firing, of a revision."""
        cell = cells.get(name, "")
        return self._reading.whole(cell, name, 1, 10**9) if cell else None

    def written(self, cell: str, name: str, of_row: str) -> tuple[Decimal, str]:
        """Degrees as written, and their unit."""
        return degrees(cell, name, self._reading, of_row)


def in_unit(value_c: float, unit: str) -> str:
    """A limit as a reason tells it.

    Examples
    --------
    >>> in_unit(950.0, "F")
    '1742 °F'
    """
    value = value_c if unit == "C" else value_c * 1.8 + 32
    return f"{value:.1f}".removesuffix(".0") + f" °{unit}"


def filled(cells: Mapping[str, str], names: Sequence[str]) -> bool:
    return any(cells.get(name) for name in names)
