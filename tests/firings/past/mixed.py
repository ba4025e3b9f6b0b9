"""A file of past firings with all kinds of mess in it, as a studio's own sheet has them."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from tests.firings.past.sheets import csv_of

MESS: tuple[Mapping[str, str], ...] = (
    {"peak": "1480 °F"}, {"peak": "1480F"}, {"peak": "804 deg C"}, {"peak": "804,5"},
    {"peak": "1,480°F"}, {"peak": ""}, {"hold": "0:20"}, {"hold": "20 min"}, {"hold": "1,5 h"},
    {"hold": "1h 20"}, {"hold": "00:10:00"}, {"verdict": "AS WANTED"}, {"verdict": "-1"},
    {"verdict": "−1"}, {"verdict": "+1"}, {"verdict": ""}, {"faults": "Needles; HAZE"},
    {"faults": "stuck, needles"}, {"rev": "1.0"}, {"maker": ""}, {"maker": "INKA"},
    {"thickness (mm)": "0.25 in"}, {"piece": "Moss tile 🐸"}, {"notes": "bad\0card"},
    {"notes": "=2+2"}, {"energy": "12,5 kWh"}, {"layers": "2"},
    {"peak": "1480"}, {"peak": "1800 °F"}, {"peak": "4"}, {"peak": "1077 K"}, {"peak": "800-804"},
    {"peak": "~804"}, {"peak": "#REF!"}, {"hold": "-5"}, {"hold": "a while"}, {"hold": "300 h"},
    {"date": "31.2.2024"}, {"date": "last spring"}, {"date": ""}, {"date": "1904-01-01"},
    {"date": "2099-01-01"}, {"time": "25:10"}, {"verdict": "7/10"}, {"verdict": "3"},
    {"faults": "ghosts"}, {"kiln": "Dodo"}, {"kiln": ""}, {"maker": "Somebody Else"},
    {"glass": "x-1"}, {"schedule": ""}, {"schedule": "Never heard of"}, {"rev": "9"},
    {"notes": "x" * 10_000}, {"piece": "x" * 121}, {"thickness (mm)": "600"}, {"layers": "1.5"},
    {"state": "planned"}, {"energy": "12 BTU"}, {"date": "Total", "kiln": "", "schedule": ""},
)  # fmt: skip
UNDERSTOOD = 27
"""As many of them are taken, the others refused."""
SHAPES = ("%Y-%m-%d", "%d.%m.%Y", "%d %B %Y", "%b %d, %Y", "%Y/%m/%d")


def messy_file(rows: int, *, kilns: int, schedules: int, plain_between: int = 2) -> bytes:
    """Rows of a firing each: after some plain ones, one with the next kind of mess."""
    return csv_of(*(_row(at, kilns, schedules, plain_between) for at in range(rows)))


def refused_in(rows: int, plain_between: int = 2) -> int:
    """How many of them are refused."""
    turns = (turn for at in range(rows) if (turn := _mess(at, plain_between)) is not None)
    return sum(1 for turn in turns if turn >= UNDERSTOOD)


def _mess(at: int, plain_between: int) -> int | None:
    turn, rest = divmod(at, plain_between + 1)
    return turn % len(MESS) if rest == plain_between else None


def _row(at: int, kilns: int, schedules: int, plain_between: int) -> dict[str, Any]:
    day = dt.date(2005, 1, 1) + dt.timedelta(days=at // kilns)
    row = {
        "date": day.strftime(SHAPES[at % len(SHAPES)]),
        "time": "", "kiln": "Heron" if at % kilns == 0 else f"Kiln {at % kilns}",
        "schedule": f"Schedule {at % schedules}", "rev": "1", "piece": f"Piece {at}",
        "maker": "Inka", "peak": "804", "hold": "10", "verdict": "a touch short", "faults": "",
        "glass": "", "thickness (mm)": "6", "layers": "", "energy": "", "state": "", "notes": "",
    }  # fmt: skip
    mess = _mess(at, plain_between)
    return row if mess is None else row | MESS[mess]
