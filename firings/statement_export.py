"""Members' months as lines of CSV: a line a charge, so that they can be added up again."""

from collections.abc import Iterable, Iterator

from django.utils.timezone import localtime

from firings.queries.statements import MemberMonth
from studio.services.csv_cells import csv_lines

CHARGES = {
    "per_firing": ("for the firing", "firings"),
    "shelf_share": ("share of the shelf", "shelves"),
    "kwh": ("energy", "kWh"),
    "hours": ("hours", "h"),
    "minimum": ("up to the least of a firing", "firings"),
    "glass": ("glass", ""),
}
HEADER = (
    "member", "month", "started", "firing", "title", "kiln", "charge", "glass", "quantity", "unit",
    "amount", "currency",
)  # fmt: skip


def statement_lines(month: MemberMonth) -> Iterator[str]:
    return members_lines([month])


def members_lines(months: Iterable[MemberMonth]) -> Iterator[str]:
    return csv_lines(HEADER, (row for month in months for row in _rows(month)))


def _rows(month: MemberMonth) -> Iterator[tuple[object, ...]]:
    for charged in month.firings:
        firing, part = charged.costs.firing, charged.part
        about = (
            month.person.name,
            f"{month.first_day:%Y-%m}",
            f"{localtime(firing.started_at):%Y-%m-%d %H:%M}",
            firing.pk,
            firing.title,
            firing.kiln.name,
        )
        if part is None:
            yield (*about, "no price was set then", "", "", "", "", "")
            continue
        for line in part.bill.lines:
            words, unit = CHARGES[line.code]
            quantity = "" if line.code == "glass" else round(line.quantity, 4).normalize()
            yield (
                *about, words, line.label, quantity and f"{quantity:f}", unit, line.amount,
                part.bill.currency.code,
            )  # fmt: skip
