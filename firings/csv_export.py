"""Rows of the logbook as lines of CSV, for spreadsheets."""

from collections.abc import Iterable, Iterator
from datetime import datetime, tzinfo
from typing import Any

from firings.models import AlsoChanged
from firings.queries.brought import brought_of
from firings.queries.logbook import LogbookRow
from firings.recording_inputs import summary_of
from studio.formats import DEGREE
from studio.services.csv_cells import csv_lines
from studio.services.units import from_celsius


def logbook_header(unit: str) -> tuple[str, ...]:
    """It names each unit; what it says is understood again by `firings.services.past.columns`."""
    degree = DEGREE[unit]
    return (
        "firing", "title", "state", "kiln", "schedule", "revision", "process", "fired by",
        "planned start", "started", "opened", f"opened at ({degree})", f"recorded peak ({degree})",
        "recorded hold (min)", "recorded duration (min)", "energy (kWh)", "pieces", "makers",
        "verdict (-2 to 2)", "verdict", "not judged yet (pieces)", "faults", "what else changed",
        "notes",
    )  # fmt: skip


def logbook_lines(rows: Iterable[LogbookRow], *, unit: str, zone: tzinfo) -> Iterator[str]:
    """The header, then a line a firing; temperatures in `unit`."""
    return csv_lines(logbook_header(unit), (logbook_values(row, unit, zone) for row in rows))


def logbook_values(row: LogbookRow, unit: str, zone: tzinfo) -> list[Any]:
    """A line beneath `logbook_header`."""
    firing, schedule = row.firing, row.firing.revision.schedule
    brought = brought_of(firing)
    recorded = summary_of(firing)
    judged = row.shown if row.shown is not None and row.shown.verdict is not None else None
    told = not row.is_kept
    changed = [AlsoChanged(code).label for code in firing.also_changed if code in AlsoChanged]
    return [
        firing.pk,
        firing.title,
        firing.get_state_display(),
        firing.kiln.name,
        schedule.name,
        firing.revision.number,
        schedule.get_process_display(),
        firing.fired_by.name,
        _moment(firing.planned_start, zone),
        _moment(firing.started_at, zone, brought is None or brought.knows_time),
        _moment(firing.opened_at, zone) if brought is None or brought.knows_opening else None,
        _degrees(firing.opened_temperature_c, unit),
        _degrees(recorded.peak, unit),
        _minutes(recorded.hold),
        _minutes(recorded.duration),
        firing.energy_kwh,
        "; ".join(piece.piece.title for piece in row.pieces),
        "; ".join(dict.fromkeys(piece.piece.maker.name for piece in row.pieces)),
        judged.verdict if judged else None,
        judged.get_verdict_display() if judged else None,
        row.unjudged,
        "; ".join(row.faults),
        "; ".join([*changed, *filter(None, [firing.also_changed_note])]) if told else None,
        firing.notes if told else None,
    ]


def _moment(value: datetime | None, zone: tzinfo, knows_time: bool = True) -> str | None:
    shape = "%Y-%m-%d %H:%M" if knows_time else "%Y-%m-%d"
    return None if value is None else value.astimezone(zone).strftime(shape)


def _degrees(value_c: float | None, unit: str) -> str | None:
    return None if value_c is None else f"{from_celsius(value_c, unit):.1f}"


def _minutes(seconds: float | None) -> str | None:
    return None if seconds is None else f"{seconds / 60:.0f}"
