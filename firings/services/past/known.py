"""What rows of past firings are held against, and what is written for them."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from schedules.services.writing import WrittenSegment
from studio.services.lists.known_glass import KnownGlass


@dataclass(frozen=True)
class KnownKiln:
    """A kiln on record, with the highest that its record allows, °C."""

    key: int
    name: str
    highest: float


@dataclass(frozen=True)
class KnownPerson:
    key: int
    name: str
    signs_in_as: str


@dataclass(frozen=True)
class KnownRevision:
    """A revision on record, its segments as written in `unit`."""

    key: int
    number: int
    unit: str
    segments: tuple[WrittenSegment, ...]


@dataclass(frozen=True)
class KnownSchedule:
    key: int
    name: str
    revisions: tuple[KnownRevision, ...]


@dataclass(frozen=True)
class KnownPiece:
    """A piece in a load, with the key of its maker."""

    title: str
    maker: int


@dataclass(frozen=True)
class KnownFiring:
    """A firing on record.

    Parameters
    ----------
    kiln, schedule : their keys
    starts : by the studio's clock, to the minute; None where it was never started
    knows_time : whether the time of day is known, or only the day
    ends : when it was opened; None where nobody knows
    pieces : the one that the schedule serves first
    peak, hold : °C and s, as recorded; None where nobody knows
    verdict : of the served piece
    """

    key: int
    kiln: int
    schedule: int
    starts: dt.datetime | None
    knows_time: bool = True
    ends: dt.datetime | None = None
    pieces: tuple[KnownPiece, ...] = ()
    peak: float | None = None
    hold: float | None = None
    verdict: int | None = None


@dataclass(frozen=True)
class Words:
    """The words that the site has for codes: by code."""

    verdicts: Mapping[int, str]
    faults: Mapping[str, str]
    processes: Mapping[str, str]
    changes: Mapping[str, str]
    over: str
    states: tuple[str, ...]


@dataclass(frozen=True)
class Past:
    """All that rows of past firings are held against.

    Parameters
    ----------
    bringer : the key of whoever brings them in
    words : of the site, for its codes
    today : after which nothing was fired yet
    """

    kilns: tuple[KnownKiln, ...]
    people: tuple[KnownPerson, ...]
    schedules: tuple[KnownSchedule, ...]
    kinds: tuple[KnownGlass, ...]
    families: tuple[str, ...]
    firings: tuple[KnownFiring, ...]
    bringer: int
    words: Words
    today: dt.date


@dataclass(frozen=True)
class NewRevision:
    """A revision that rows put on record, of a schedule that they put on record.

    Parameters
    ----------
    schedule : its name
    process : its code
    family : name of its glass family; empty for metal clay
    thickness : mm of the glass that it is for, as its first row says
    number : from 1, in the order of the rows
    segments : as written in `unit`
    line : of the file, in which it stands first
    """

    schedule: str
    process: str
    family: str
    thickness: float
    number: int
    unit: str
    segments: tuple[WrittenSegment, ...]
    line: int


@dataclass(frozen=True)
class PastPiece:
    """A piece that a row names; sizes in mm, `glass` and `maker` are keys."""

    title: str
    maker: int
    glass: int | None = None
    layers: int = 1
    thickness: float | None = None
    length: float | None = None
    width: float | None = None
    verdict: int | None = None
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class NewFiring:
    """What is written for a row.

    Parameters
    ----------
    line : of the file
    joins : the line of an earlier row, into whose firing these pieces go; None for a firing of its
        own
    kiln, fired_by : their keys
    revision : the key of one on record, or a new one
    starts : by the studio's clock; at noon where `knows_time` is false
    opens : None where the row doesn't say
    opened, peak : °C, `hold` and `duration` s, `energy` kWh
    """

    line: int
    joins: int | None
    kiln: int
    fired_by: int
    revision: int | NewRevision
    starts: dt.datetime
    knows_time: bool
    opens: dt.datetime | None
    pieces: tuple[PastPiece, ...]
    title: str = ""
    opened: float | None = None
    peak: float | None = None
    hold: int | None = None
    duration: int | None = None
    energy: Decimal | None = None
    changed: tuple[str, ...] = ()
    changed_note: str = ""
    notes: str = field(default="", repr=False)
