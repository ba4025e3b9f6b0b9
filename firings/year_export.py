"""A year as lines of CSV: kiln by month, and its faults."""

from collections.abc import Iterator

from firings.queries.year import StudioYear, Sum
from firings.queries.year_costs import YearCosts
from studio.services.csv_cells import csv_lines

HEADER = (
    "kiln",
    "month",
    "firings",
    "hours",
    "firings of unknown length",
    "energy by the meter (kWh)",
    "firings without a meter",
    "energy computed (kWh)",
    "give or take (kWh)",
    "firings of unknown energy",
)

COST_HEADER = (
    "by", "which", "firings", "firings without prices", "energy", "kiln", "glass", "wear", "cost",
    "charged", "currency",
)  # fmt: skip
FAULT_HEADER = ("by", "which", "pieces", "with a fault", "share with a fault", "mostly")


def year_lines(shown: StudioYear) -> Iterator[str]:
    return csv_lines(
        HEADER,
        (
            (kiln.kiln.name, f"{day:%Y-%m}", *_of(month))
            for kiln in shown.kilns
            for day, month in zip(shown.first_days, kiln.months, strict=True)
        ),
    )


def year_fault_lines(shown: StudioYear) -> Iterator[str]:
    """By kiln, process, glass and person, as far as the year's reader sees them."""
    return csv_lines(
        FAULT_HEADER,
        (
            (
                subject,
                row.name,
                row.pieces,
                row.faulty,
                f"{row.share:.3f}",
                ", ".join(f"{kind} {count}" for kind, count in row.kinds),
            )
            for subject, rows in shown.faults.items()
            for row in rows
        ),
    )


def year_cost_lines(costs: YearCosts) -> Iterator[str]:
    """By kiln, then by month; each adds up to the year."""
    rows = [
        *(("kiln", name, row) for name, row in costs.kilns),
        *(("month", f"{day:%Y-%m}", row) for day, row in costs.months),
    ]
    return csv_lines(
        COST_HEADER,
        (
            (by, which, row.firings, row.unpriced, *row.parts.values(), row.total, row.charged,
             costs.currency)
            for by, which, row in rows
        ),
    )  # fmt: skip


def _of(month: Sum) -> tuple[object, ...]:
    return (
        month.firings,
        f"{month.hours:.1f}",
        month.untimed,
        month.kwh,
        month.unmetered,
        f"{month.computed_kwh:.1f}",
        f"{month.doubt_kwh:.1f}",
        month.unknown,
    )
