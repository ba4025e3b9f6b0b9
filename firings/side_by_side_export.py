"""Firings side by side as lines of CSV: a line a figure, a column a firing."""

import csv
from collections.abc import Iterator

from django.utils import timezone

from firings.queries.figure_rows import FigureRow
from firings.queries.side_by_side import SideBySide
from firings.wording import FIGURES
from studio.formats import DEGREE
from studio.services.csv_cells import Echo, safe_cell
from studio.services.units import from_celsius, rate_from_celsius

MINUTE = 60.0


def side_by_side_lines(page: SideBySide, *, unit: str) -> Iterator[str]:
    """The header with each firing's number, its day, then every figure, its unit in its name.

    What was not recorded is left empty.
    """
    writer = csv.writer(Echo())
    header = ["figure", *(f"firing {side.firing.pk}" for side in page.sides)]
    yield "\ufeff" + writer.writerow(header)  # the mark by which spreadsheets know UTF-8
    starts = [side.firing.started_at for side in page.sides]
    yield writer.writerow(
        [
            "started",
            *("" if at is None else f"{timezone.localtime(at):%Y-%m-%d %H:%M}" for at in starts),
        ]
    )
    for row in page.rows:
        values = (_value(row, cell.value, unit) for cell in row.cells)
        yield writer.writerow([_named(row, unit), *map(safe_cell, values)])


def _named(row: FigureRow, unit: str) -> str:
    in_unit = {
        "temperature": f" ({DEGREE[unit]})",
        "rate": f" ({DEGREE[unit]}/h)",
        "duration": " (min)",
    }
    return FIGURES[row.name] + in_unit.get(row.kind, "")


def _value(row: FigureRow, value: object, unit: str) -> object:
    if not isinstance(value, float | int):
        return value
    match row.kind:
        case "temperature":
            return f"{float(from_celsius(value, unit)):.1f}"
        case "rate":
            return f"{float(rate_from_celsius(value, unit)):.1f}"
        case "duration":
            return f"{value / MINUTE:.1f}"
    return f"{value:.4g}"
