"""Files of lists, and the way from one to what it brings in."""

import threading
from collections.abc import Sequence

from studio.actions.list_import import list_begin, list_preview, list_take_in
from studio.actions.list_run import list_run
from studio.models import ListImport, Person
from studio.services.csv_cells import csv_lines
from studio.services.lists.table import read_table

SHELF_HEADER = (
    "family", "code", "colour", "form", "thickness (mm)", "length (mm)", "width (mm)", "pieces",
    "mass (g)", "price",
)  # fmt: skip


def csv_file(header: Sequence[str], *rows: Sequence[object]) -> bytes:
    return "".join(csv_lines(header, rows)).encode()


def sheets(count: int, family: str = "soft 90") -> bytes:
    """A row a sheet, each of a glass that is not on record."""
    return csv_file(
        SHELF_HEADER,
        *(
            (family, f"s-{at}", f"moss {at}", "sheet", 3, 500 + at % 90, 400, 2, "", "12.50")
            for at in range(count)
        ),
    )


def previewed(by: Person, raw: bytes, kind: str = "shelf") -> ListImport:
    taken = list_take_in(kind=kind, by=by, name=f"{kind}.csv", raw=raw, table=read_table(raw))
    return list_preview(
        taken=taken, places=taken.places, decimal=taken.decimal, day_first=taken.day_first
    )


def begun(by: Person, raw: bytes, kind: str = "shelf") -> ListImport:
    return list_begin(taken=previewed(by, raw, kind))


def brought_in(by: Person, raw: bytes, kind: str = "shelf") -> ListImport:
    return list_run(taken=begun(by, raw, kind))


def wait_for(taken: ListImport) -> None:
    """Until the thread that brings it in has ended."""
    for thread in threading.enumerate():
        if thread.name == f"list {taken.pk}":
            thread.join(30)
            assert not thread.is_alive()
