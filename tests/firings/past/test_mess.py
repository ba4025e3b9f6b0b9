"""What a studio's own sheets hold: each kind of mess is understood, or refused with its reason."""

import datetime as dt
import io
from decimal import Decimal
from typing import Any

import openpyxl
import pytest

from firings.services.past.known import NewFiring, NewRevision
from studio.services.lists.fates import NEW, REFUSED, SAME, Judged
from tests.firings.past.sheets import ROW, SEGMENTS, csv_of, judged, judged_row

Told = dict[str, Any]


def plan_of(row: Judged) -> NewFiring:
    assert row.fate == NEW, row.reason
    plan: NewFiring = row.plan
    return plan


UNDERSTOOD: dict[str, tuple[Told, Told]] = {
    "nothing wrong": ({}, {"peak": 804.0, "hold": 600}),
    "°F in a column of °C, by its sign": ({"peak (°C)": "1480 °F"}, {"peak": 804.44}),
    "unit behind the number without a space": ({"peak (°C)": "1480F"}, {"peak": 804.44}),
    "unit in words": ({"peak (°C)": "804 deg C"}, {"peak": 804.0}),
    "masculine ordinal for a degree sign": ({"peak (°C)": "804 ºC"}, {"peak": 804.0}),
    "column of °F": ({"peak (°C)": None, "peak (°F)": "1480"}, {"peak": 804.44}),
    "column of units": ({"peak (°C)": None, "peak": "1480", "unit": "F"}, {"peak": 804.44}),
    "decimal comma": ({"peak (°C)": "804,5"}, {"peak": 804.5}),
    "thousands parted by a comma": ({"peak (°C)": "1,480°F"}, {"peak": 804.44}),
    "no peak at all": ({"peak (°C)": ""}, {"peak": None}),
    "hold as hours and minutes": ({"hold (min)": "0:20"}, {"hold": 1200}),
    "hold with its unit": ({"hold (min)": "20 min"}, {"hold": 1200}),
    "hold of hours with a comma": ({"hold (min)": "1,5 h"}, {"hold": 5400}),
    "hold of h and min": ({"hold (min)": "1h 20"}, {"hold": 4800}),
    "hold with seconds, as a sheet has it": ({"hold (min)": "00:10:00"}, {"hold": 600}),
    "column of hours": ({"hold (min)": None, "hold (h)": "0.5"}, {"hold": 1800}),
    "no hold": ({"hold (min)": "0"}, {"hold": 0}),
    "day with dots": ({"date": "4.3.2024"}, {"starts": dt.datetime(2024, 3, 4, 12)}),
    "day in words": ({"date": "4 March 2024"}, {"starts": dt.datetime(2024, 3, 4, 12)}),
    "month first in words": ({"date": "Mar 4, 2024"}, {"starts": dt.datetime(2024, 3, 4, 12)}),
    "two figures of a year": ({"date": "04.03.24"}, {"starts": dt.datetime(2024, 3, 4, 12)}),
    "day above 12 stands first": ({"date": "25/03/2024"}, {"starts": dt.datetime(2024, 3, 25, 12)}),
    "day above 12 stands second": (
        {"date": "03/25/2024"}, {"starts": dt.datetime(2024, 3, 25, 12)},
    ),
    "day as a sheet counts it": ({"date": "45355"}, {"starts": dt.datetime(2024, 3, 4, 12)}),
    "day and time as a sheet counts them": (
        {"date": "45355.5625"}, {"starts": dt.datetime(2024, 3, 4, 13, 30), "knows_time": True},
    ),
    "time behind the day": (
        {"date": "2024-03-04 21:05"}, {"starts": dt.datetime(2024, 3, 4, 21, 5)},
    ),
    "time in a column of its own": (
        {"time": "9:05 pm"}, {"starts": dt.datetime(2024, 3, 4, 21, 5), "knows_time": True},
    ),
    "time with a dot": ({"time": "21.05"}, {"starts": dt.datetime(2024, 3, 4, 21, 5)}),
    "only the day": ({}, {"knows_time": False, "opens": None}),
    "verdict in capitals": ({"verdict": "AS WANTED "}, {"verdict": 0}),
    "verdict as a number": ({"verdict": "-1"}, {"verdict": -1}),
    "verdict with a true minus": ({"verdict": "−2"}, {"verdict": -2}),
    "verdict with a plus": ({"verdict": "+1"}, {"verdict": 1}),
    "no verdict is not judged yet": ({"verdict": ""}, {"verdict": None}),
    "faults in mixed case": (
        {"faults": "Needles; HAZE"}, {"faults": ("needles", "devitrification")},
    ),
    "faults parted by commas": ({"faults": "stuck, needles"}, {"faults": ("stuck", "needles")}),
    "kiln in other capitals": ({"kiln": "  heron "}, {"kiln": 1}),
    "maker by the name that signs in": ({"maker": "inka"}, {"maker": 3}),
    "nobody named": ({"maker": ""}, {"maker": 1, "fired_by": 1}),
    "glass by its code": ({"glass": "S-204"}, {"glass": 7}),
    "glass by its colour": ({"glass": "Moss"}, {"glass": 7}),
    "thickness in inches": ({"thickness (in)": "0.25"}, {"thickness": 6.35}),
    "emoji in a title": ({"piece": "Moss tile 🐸"}, {"title": "Moss tile 🐸"}),
    "NUL in a note": ({"notes": "bad\0card"}, {"notes": "bad card"}),
    "line end in a title": ({"piece": "Moss  tile\u00a0"}, {"title": "Moss tile"}),
    "no piece named": ({"piece": ""}, {"title": "Full fuse"}),
    "formula kept from running": ({"notes": "=2+2 tiles"}, {"notes": "=2+2 tiles"}),
    "revision by its number": ({"schedule": "Tack", "rev": "2"}, {"revision": 32}),
    "revision by its segments": (
        {"schedule": "Tack", "unit": "°C"} | SEGMENTS, {"revision": 31},
    ),
    "energy with its unit": ({"energy": "12,5 kWh"}, {"energy": Decimal("12.50")}),
}  # fmt: skip


@pytest.mark.parametrize("kind", UNDERSTOOD)
def test_understood(kind: str) -> None:
    changes, told = UNDERSTOOD[kind]
    plan = plan_of(judged_row(changes))
    served = plan.pieces[0]
    for name, value in told.items():
        found = getattr(served if hasattr(served, name) else plan, name)
        assert found == (pytest.approx(value, abs=0.01) if name == "peak" and value else value), (
            name
        )


REFUSALS: dict[str, tuple[Told, str, str, Told]] = {
    "°F without a sign in a column of °C": (
        {"peak (°C)": "1480"}, "above_kiln", "peak",
        {"there": "1480 °C", "kiln": "Heron", "highest": "950 °C"},
    ),
    "peak above the kiln, in °F": (
        {"peak (°C)": "1800 °F"}, "above_kiln", "peak",
        {"there": "1800 °F", "highest": "1742 °F"},
    ),
    "peak below any room": (
        {"peak (°C)": "4"}, "beyond", "peak", {"there": "4", "least": "20", "unit": "°C"},
    ),
    "kelvin": ({"peak (°C)": "1077 K"}, "unit_unknown", "peak", {"cell": "1077 K"}),
    "header and row of two units": ({"unit": "F"}, "units_differ", "peak", {"cell": "804"}),
    "unit that is none": ({"unit": "cone"}, "unit_unknown", "unit", {"cell": "cone"}),
    "nothing names a unit": (
        {"peak (°C)": None, "peak": "804"}, "unit_missing", "peak", {"cell": "804"},
    ),
    "range instead of a number": (
        {"peak (°C)": "800-804"}, "not_a_number", "peak", {"cell": "800-804"},
    ),
    "about a number": ({"peak (°C)": "~804"}, "unit_unknown", "peak", {"cell": "~804"}),
    "error of a formula": ({"peak (°C)": "#REF!"}, "not_a_number", "peak", {"cell": "#REF!"}),
    "negative hold": ({"hold (min)": "-5"}, "negative", "hold", {"cell": "-5"}),
    "hold in words": ({"hold (min)": "a while"}, "not_a_duration", "hold", {"cell": "a while"}),
    "hold of weeks": (
        {"hold (min)": "300 h"}, "too_long_a_time", "hold", {"cell": "300 h", "most": "240 h"},
    ),
    "day that is none": ({"date": "31.2.2024"}, "not_a_date", "started", {"cell": "31.2.2024"}),
    "day in words that nobody knows": (
        {"date": "last spring"}, "not_a_date", "started", {"cell": "last spring"},
    ),
    "day missing": ({"date": ""}, "missing", "started", {}),
    "day before any controller": (
        {"date": "1904-01-01"}, "not_a_date", "started", {"cell": "1904-01-01"},
    ),
    "day still to come": (
        {"date": "2026-05-05"}, "still_to_come", "started", {"cell": "2026-05-05"},
    ),
    "later today": (
        {"date": "2026-05-04", "time": "23:00"}, "still_to_come", "started",
        {"cell": "2026-05-04"},
    ),
    "time that is none": ({"time": "25:10"}, "not_a_time", "time", {"cell": "25:10"}),
    "opened before the start": (
        {"date": "2024-03-04 09:00", "opened": "2024-03-04 08:00"}, "opened_before", "opened",
        {"cell": "2024-03-04 08:00"},
    ),
    "verdict of another scale": ({"verdict": "7/10"}, "not_one_of", "verdict", {"cell": "7/10"}),
    "verdict beyond the scale": ({"verdict": "3"}, "not_one_of", "verdict", {"cell": "3"}),
    "fault that nobody knows": ({"faults": "ghosts"}, "not_one_of", "faults", {"cell": "ghosts"}),
    "unknown kiln": ({"kiln": "Heroin"}, "kiln_unknown", "kiln", {"cell": "Heroin"}),
    "kiln missing": ({"kiln": ""}, "missing", "kiln", {}),
    "maker whom nobody knows": (
        {"maker": "Somebody Else"}, "person_unknown", "makers", {"cell": "Somebody Else"},
    ),
    "two people of one name": ({"maker": "Wilf"}, "person_ambiguous", "makers", {"cell": "Wilf"}),
    "three pieces of two makers": (
        {"piece": "a; b; c", "maker": "Mads; Inka Vale"}, "makers_unclear", "makers",
        {"makers": "2", "pieces": "3"},
    ),
    "unknown glass": ({"glass": "x-1"}, "glass_not_here", "glass", {"cell": "x-1"}),
    "schedule missing": ({"schedule": ""}, "missing", "schedule", {}),
    "unknown schedule without segments": (
        {"schedule": "Old one"}, "schedule_unknown", "schedule", {"cell": "Old one"},
    ),
    "unknown schedule that says too little": (
        {"schedule": "Old one", "unit": "C"} | SEGMENTS, "schedule_needs", "schedule",
        {"missing": "process, thickness, glass or family"},
    ),
    "two schedules of one name": ({"schedule": "Twin"}, "schedule_ambiguous", "schedule", {}),
    "which of two revisions": (
        {"schedule": "Tack"}, "revision_not_said", "revision", {"schedule": "Tack", "there": "2"},
    ),
    "no such revision": ({"rev": "4"}, "revision_unknown", "revision", {"cell": "4"}),
    "other segments than on record": (
        {"unit": "C"} | SEGMENTS | {"segment 2 target": "810"}, "segments_not_here", "schedule", {},
    ),
    "gap among segments": (
        {"unit": "C"} | SEGMENTS | {"segment 2 target": ""}, "missing", "target_2", {},
    ),
    "rate left out": ({"unit": "C"} | SEGMENTS | {"segment 3 rate": ""}, "missing", "rate_3", {}),
    "rate of nothing": (
        {"unit": "C"} | SEGMENTS | {"segment 1 rate": "0"}, "beyond", "rate_1",
        {"there": "0", "most": "1000", "unit": "°C/h"},
    ),
    "segments of two units": (
        {"unit": "C"} | SEGMENTS | {"segment 2 target": "1480 F"}, "segments_mix_units",
        "target_1", {},
    ),
    "segment above the kiln": (
        {"unit": "C"} | SEGMENTS | {"segment 2 target": "1100"}, "above_kiln", "target_2", {},
    ),
    "10,000 letters of notes": (
        {"notes": "x" * 10_000}, "too_long", "notes", {"most": "4000", "there": "10000"},
    ),
    "title longer than is kept": ({"piece": "x" * 121}, "too_long", "pieces", {"most": "120"}),
    "thicker than any glass": (
        {"thickness (mm)": "600"}, "beyond", "thickness", {"there": "600", "most": "100"},
    ),
    "half a layer": ({"layers": "1.5"}, "not_whole", "layers", {"cell": "1.5"}),
    "energy in another unit": ({"energy": "12 BTU"}, "unit_unknown", "energy", {}),
    "planned only": ({"state": "planned"}, "not_over", "state", {"cell": "planned"}),
    "totals at the foot": (
        {"date": "Total", "kiln": "", "schedule": "", "peak (°C)": "14"}, "missing", "kiln", {},
    ),
    "headers once more": (
        {"date": "date", "kiln": "kiln", "schedule": "schedule"}, "kiln_unknown", "kiln", {},
    ),
    "on record with another verdict": (
        {"date": "2025-03-04 09:30", "piece": "Tide bowl"}, "on_record_otherwise", "verdict",
        {"firing": "41", "here": "a touch short", "cell": "as wanted"},
    ),
    "on record with another peak": (
        {"date": "2025-03-04", "piece": "Tide bowl", "verdict": "", "peak (°C)": "811"},
        "on_record_otherwise", "peak", {"here": "804 °C", "cell": "811 °C"},
    ),
    "on record by another schedule": (
        {"date": "2025-03-04 09:30", "schedule": "Tack"}, "other_schedule", "schedule",
        {"firing": "41"},
    ),
    "on record without the piece": (
        {"date": "2025-03-04 09:30"}, "piece_not_there", "pieces", {"firing": "41"},
    ),
    "kiln in use then": (
        {"date": "2025-03-04 20:00"}, "kiln_taken", "started", {"other": "firing 41"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", REFUSALS)
def test_refused_with_field_value_and_limit(kind: str) -> None:
    changes, code, column, figures = REFUSALS[kind]
    row = judged_row(changes)
    assert row.fate == REFUSED
    assert row.reason is not None
    assert (row.reason.code, row.reason.column) == (code, column)
    assert {name: row.reason.figures[name] for name in figures} == figures


def test_there_are_fifty_kinds_and_more() -> None:
    assert min(len(UNDERSTOOD), len(REFUSALS)) >= 50


def test_number_that_could_be_either_counts_as_it_was_chosen() -> None:
    for day_first, month in ((True, 4), (False, 3)):
        plan = plan_of(judged_row({"date": "03/04/2024"}, day_first=day_first))
        assert plan.starts.month == month


def test_unit_that_was_asked_counts_where_nothing_names_one() -> None:
    bare = {"peak (°C)": None, "peak": "1480"}
    assert plan_of(judged_row(bare, temperature="F")).peak == pytest.approx(804.44, abs=0.01)


def test_mark_of_utf_8_title_line_blank_rows_and_totals() -> None:
    body = csv_of(ROW, ROW | {"date": "2024-03-05"}).decode("utf-8-sig")
    raw = f"Our firings 2024,,\r\n\r\n{body}\r\n,,,\r\nTotal,2,,\r\n\r\n\r\n"
    fates = [row.fate for row in judged(b"\xef\xbb\xbf" + raw.encode())]
    assert fates == [NEW, NEW, REFUSED]


def test_semicolons_and_windows_letters() -> None:
    raw = "Date;Kiln;Schedule;Piece;Peak (°C)\r\n04.03.2024;Heron;Full fuse;Schüssel;804,5\r\n"
    [row] = judged(raw.encode("cp1252"))
    assert (plan_of(row).peak, plan_of(row).title) == (804.5, "Schüssel")


def test_workbook_with_days_times_and_formulas() -> None:
    book = openpyxl.Workbook()
    book.active.append(["date", "time", "kiln", "schedule", "piece", "peak (°C)", "hold (min)"])
    day, hold = dt.datetime(2024, 3, 4), dt.timedelta(minutes=10)
    book.active.append([day, dt.time(9, 5), "Heron", "Full fuse", "Moss tile", 804.0, hold])
    book.active.append([day, dt.time(19), "Wren", "Full fuse", "Moss tile", "=800+4", 10])
    file = io.BytesIO()
    book.save(file)

    first, second = map(plan_of, judged(file.getvalue()))

    assert (first.starts, first.peak, first.hold) == (dt.datetime(2024, 3, 4, 9, 5), 804.0, 600)
    assert second.peak is None  # a formula that nobody has worked out says nothing


def test_row_twice_and_a_firing_of_two_pieces() -> None:
    rows = judged(csv_of(ROW, ROW, ROW | {"piece": "Fern tile", "verdict": ""}))
    assert [row.fate for row in rows] == [NEW, REFUSED, NEW]
    assert rows[1].reason is not None
    assert (rows[1].reason.code, rows[1].reason.figures) == ("row_twice", {"line": "2"})
    assert plan_of(rows[2]).joins == 2


def test_rows_of_one_firing_that_differ() -> None:
    rows = judged(csv_of(ROW, ROW | {"piece": "Fern tile", "peak (°C)": "806"}))
    assert rows[1].reason is not None
    assert (rows[1].reason.code, rows[1].reason.column) == ("rows_of_one_differ", "peak")


def test_two_schedules_on_a_day_without_times() -> None:
    rows = judged(csv_of(ROW, ROW | {"schedule": "Tack", "rev": "1"}))
    assert rows[1].reason is not None
    assert (rows[1].reason.code, rows[1].reason.figures) == ("two_that_day", {"other": "line 2"})


def test_what_is_on_record_stands_as_it_is() -> None:
    there = {"piece": "Tide bowl", "verdict": "a touch short"}
    for day in ("2025-03-04", "2025-03-04 09:30"):
        assert judged_row(there | {"date": day}).fate == SAME


def test_schedule_is_put_on_record_with_each_of_its_states() -> None:
    told = {"schedule": "Old one", "process": "Full fuse", "thickness": "6", "glass": "s-204"}
    first = ROW | told | SEGMENTS | {"unit": "C"}
    hotter = first | {"date": "2024-03-06", "segment 2 target": "808", "process": ""}
    again = first | {"date": "2024-03-08"}
    rows = judged(csv_of(first, hotter, again))
    found = [plan_of(row).revision for row in rows]
    assert all(isinstance(each, NewRevision) for each in found)
    assert [each.number for each in found if isinstance(each, NewRevision)] == [1, 2, 1]
    assert found[0] == found[2]
