"""A studio as rows of past firings are held against it, and files of such rows."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from firings.services.past.columns import COLUMNS
from firings.services.past.judge import PastJudge
from firings.services.past.known import (
    KnownFiring,
    KnownKiln,
    KnownPerson,
    KnownPiece,
    KnownRevision,
    KnownSchedule,
    Past,
    Words,
)
from schedules.services.writing import WrittenSegment
from studio.services.csv_cells import csv_lines
from studio.services.lists.columns import guess_columns, read_as
from studio.services.lists.fates import Judged
from studio.services.lists.known_glass import KnownGlass
from studio.services.lists.table import read_table
from studio.services.lists.values import Reading

NOW = dt.datetime(2026, 5, 4, 18, 0)
WORDS = Words(
    verdicts={-2: "well short", -1: "a touch short", 0: "as wanted", 1: "a touch far",
              2: "well past"},
    faults={"needles": "needles, spikes at the edge", "devitrification": "haze (devitrification)",
            "stuck": "stuck", "large_bubble": "large bubble from below"},
    processes={"full_fuse": "full fuse", "slump": "slump", "metal_clay": "metal clay sinter"},
    changes={"mould": "mould", "other": "something else"},
    over="opened",
    states=("planned", "firing", "called off"),
)  # fmt: skip
FUSE = (
    WrittenSegment(Decimal(150), Decimal(540)),
    WrittenSegment(Decimal(300), Decimal(804), Decimal(10)),
    WrittenSegment(None, Decimal(482), Decimal(60)),
)
MOSS = KnownGlass(7, "soft 90", "", "s-204", "moss", "sheet", "transparent", 3.0)
STUDIO = Past(
    kilns=(KnownKiln(1, "Heron", 950.0), KnownKiln(2, "Wren", 900.0)),
    people=(
        KnownPerson(1, "Mads", "mads"),
        KnownPerson(3, "Inka Vale", "inka"),
        KnownPerson(4, "Wilf", "wilf"),
        KnownPerson(5, "Wilf", "wilf2"),
    ),
    schedules=(
        KnownSchedule(11, "Full fuse", (KnownRevision(21, 1, "C", FUSE),)),
        KnownSchedule(
            12,
            "Tack",
            (KnownRevision(31, 1, "C", FUSE), KnownRevision(32, 2, "C", FUSE[:2])),
        ),
        KnownSchedule(13, "Twin", ()),
        KnownSchedule(14, "Twin", ()),
    ),
    kinds=(MOSS,),
    families=("soft 90",),
    firings=(
        KnownFiring(
            41,
            1,
            11,
            dt.datetime(2025, 3, 4, 9, 30),
            ends=dt.datetime(2025, 3, 5, 8, 0),
            pieces=(KnownPiece("Tide bowl", 3),),
            peak=804.0,
            hold=600.0,
            verdict=-1,
        ),
    ),
    bringer=1,
    words=WORDS,
    today=NOW.date(),
)
ROW = {
    "date": "2024-03-04", "kiln": "Heron", "schedule": "Full fuse", "piece": "Moss tile",
    "maker": "Inka Vale", "peak (°C)": "804", "hold (min)": "10", "verdict": "as wanted",
    "faults": "", "notes": "",
}  # fmt: skip
"""A row with nothing wrong."""
SEGMENTS = {
    "segment 1 rate": "150", "segment 1 target": "540", "segment 1 hold": "",
    "segment 2 rate": "300", "segment 2 target": "804", "segment 2 hold": "10",
    "segment 3 rate": "full", "segment 3 target": "482", "segment 3 hold": "60",
}  # fmt: skip


def csv_of(*rows: Mapping[str, Any]) -> bytes:
    """A file with the columns that its rows have."""
    header = list(dict.fromkeys(name for row in rows for name in row))
    lines = ([row.get(name, "") for name in header] for row in rows)
    return "".join(csv_lines(header, lines)).encode()


def judged(raw: bytes, past: Past = STUDIO, **asked: Any) -> list[Judged]:
    """The fate of each row, its columns matched as they are called."""
    table = read_table(raw)
    places = guess_columns(table.headers, COLUMNS)
    as_it_seems = read_as(table, COLUMNS, places)
    chosen = {"decimal": as_it_seems.decimal, "day_first": as_it_seems.day_first} | asked
    judge = PastJudge(past, read_as(table, COLUMNS, places, Reading(**chosen)), NOW)
    return [
        judge.judge(row.line, {name: row.cells[at] for name, at in places.items()})
        for row in table.rows
    ]


def judged_row(changes: Mapping[str, Any], **asked: Any) -> Judged:
    """Of one row that differs from `ROW`; a column that is None is left out."""
    row = {name: value for name, value in (ROW | changes).items() if value is not None}
    [only] = judged(csv_of(row), **asked)
    return only
