"""A year as lines of CSV: kiln by month."""

import csv
from collections.abc import Iterator

from firings.csv_export import Echo, safe_cell
from firings.queries.year import StudioYear, Sum

HEADER = (
    "kiln",
    "month",
    "firings",
    "hours",
    "firings of unknown length",
    "energy (kWh)",
    "firings without a meter",
)


def year_lines(shown: StudioYear) -> Iterator[str]:
    writer = csv.writer(Echo())
    yield "\ufeff" + writer.writerow(HEADER)
    for kiln in shown.kilns:
        for day, month in zip(shown.first_days, kiln.months, strict=True):
            line = (kiln.kiln.name, f"{day:%Y-%m}", *_of(month))
            yield writer.writerow([safe_cell(each) for each in line])


def _of(month: Sum) -> tuple[object, ...]:
    return month.firings, f"{month.seconds / 3600:.1f}", month.untimed, month.kwh, month.unmetered
