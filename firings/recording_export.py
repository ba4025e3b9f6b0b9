"""A firing's readings, and how they compare with its plan, as CSV and JSON."""

import csv
from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime, timedelta, tzinfo
from typing import Any

from firings.queries.recorded import Recorded
from firings.services.comparison import Comparison
from firings.services.recording import Recording
from studio.formats import DEGREE
from studio.services.csv_cells import Echo, safe_cell
from studio.services.units import from_celsius, rate_from_celsius

LINES_AT_ONCE = 2000


def reading_lines(
    recording: Recording, *, starts_at: datetime | None, unit: str, zone: tzinfo
) -> Iterator[str]:
    """The header, which names the units, then pieces of many lines, a line a reading."""
    writer = csv.writer(Echo())
    yield "\ufeff" + writer.writerow(["time", "elapsed (s)", f"temperature ({DEGREE[unit]})"])
    temperatures = from_celsius(recording.temperatures, unit)
    pairs = list(zip(recording.times.tolist(), temperatures.tolist(), strict=True))
    for first in range(0, len(pairs), LINES_AT_ONCE):
        piece = pairs[first : first + LINES_AT_ONCE]
        yield "".join(
            f"{_moment(starts_at, seconds, zone)},{seconds:.10g},{temperature:.2f}\r\n"
            for seconds, temperature in piece
        )


def _moment(starts_at: datetime | None, seconds: float | None, zone: tzinfo) -> str:
    if starts_at is None or seconds is None:
        return ""
    moment = (starts_at + timedelta(seconds=seconds)).astimezone(zone)
    return moment.isoformat(timespec="seconds")


def comparison_lines(recorded: Recorded, *, unit: str, zone: tzinfo) -> Iterator[str]:
    """The header, which names the units, then a line a segment; temperatures in `unit`."""
    writer = csv.writer(Echo())
    degree = DEGREE[unit]
    yield "\ufeff" + writer.writerow([
        "segment", f"planned rate ({degree}/h)", f"planned target ({degree})",
        "planned hold (min)", "begun", "start (s)", "target met (s)", "end (s)",
        f"rate achieved ({degree}/h)", f"past target ({degree})", "held (min)",
        "held near the target (min)", f"mean while held ({degree})", "settled after (min)",
        "later by (min)", "longer than planned by (min)", "more than usual",
    ])  # fmt: skip
    for row in recorded.segments:
        planned, found = row.planned, row.found
        yield writer.writerow([
            row.position,
            "full power" if planned.rate is None else _rate(planned.rate, unit),
            _degrees(planned.target, unit),
            _minutes(planned.hold),
            _moment(recorded.starts_at, found.start, zone),
            _seconds(found.start),
            _seconds(found.hold_start),
            _seconds(found.end),
            _rate(found.rate_achieved, unit),
            _rate(found.overshoot, unit),
            _minutes(found.hold_achieved),
            _minutes(found.held_within),
            _degrees(found.mean, unit),
            _minutes(found.settled_after),
            _minutes(found.delay),
            _minutes(found.own_delay),
            safe_cell("; ".join(name.replace("_", " ") for name in sorted(found.beyond))),
        ])  # fmt: skip


def comparison_data(recorded: Recorded, comparison: Comparison, *, zone: tzinfo) -> dict[str, Any]:
    """The comparison for other programs: °C, s and °C/h, whatever its reader's unit is."""
    starts_at = recorded.starts_at
    return {
        "units": {"temperature": "°C", "rate": "°C/h", "time": "s"},
        "starts_at": None if starts_at is None else starts_at.astimezone(zone).isoformat(),
        "peak_difference": comparison.peak_difference,
        "hold_difference": comparison.hold_difference,
        "duration_difference": comparison.duration_difference,
        "heat_work_ratio": comparison.heat_work_ratio,
        "missed_plan": comparison.missed_plan,
        "beyond": sorted(comparison.beyond),
        "cooling": asdict(comparison.cooling),
        "bands": [asdict(row.band) for row in recorded.bands],
        "segments": [
            {
                "planned": asdict(row.planned),
                **asdict(row.found),
                "beyond": sorted(row.found.beyond),
            }
            for row in recorded.segments
        ],
        "remarks": [
            {"code": remark.code, "figures": dict(remark.figures)} for remark in comparison.remarks
        ],
    }


def _rate(value: float | None, unit: str) -> str:
    return "" if value is None else f"{float(rate_from_celsius(value, unit)):.1f}"


def _degrees(value: float | None, unit: str) -> str:
    return "" if value is None else f"{float(from_celsius(value, unit)):.1f}"


def _minutes(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds / 60:.1f}"


def _seconds(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds:.0f}"
