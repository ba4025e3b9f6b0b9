"""What was measured in a kiln, as lines of CSV: a line a place and measurement."""

from collections.abc import Iterator

from firings.queries.measured import MeasuredKiln, MeasurementLine
from studio.services.csv_cells import csv_lines

HEADER = (
    "kiln", "on", "measured with", "which one", "right within (°C)", "display (°C)", "place",
    "shown (°C)", "looks (-2 to 2)", "sag (mm)", "offset (°C)", "offset spread (°C)",
    "hottest less coldest (°C)", "its spread (°C)", "since the last thermocouple",
    "measured by", "firing", "note",
)  # fmt: skip


def measured_lines(shown: MeasuredKiln) -> Iterator[str]:
    return csv_lines(HEADER, (row for line in shown.lines for row in _rows(line)))


def _rows(line: MeasurementLine) -> Iterator[tuple[object, ...]]:
    row, offset = line.row, line.offset
    for reading in row.readings.all():
        yield (
            row.kiln.name, f"{row.measured_on:%Y-%m-%d}", row.get_means_display(), row.instrument,
            row.tolerance_c, row.display_c, reading.place.name,
            reading.shown_c, reading.state, reading.sag_mm,
            None if offset is None else f"{offset.value:.1f}",
            None if offset is None else f"{offset.spread:.1f}",
            None if line.range is None else f"{line.range.value:.1f}",
            None if line.range is None else f"{line.range.spread:.1f}",
            "yes" if line.is_current else "no", row.measured_by.name, row.firing_id, row.note,
        )  # fmt: skip
