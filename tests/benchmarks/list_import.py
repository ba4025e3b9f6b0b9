"""A shelf of 20,000 rows is brought in: `python -m tests.benchmarks.list_import`.

Once from an empty shelf, once as its own saved file with every amount counted anew, and once
cancelled half-way. A database of its own in a temporary folder, or the one that `DATABASE_URL`
names, which is taken as empty. Beside the limit it prints for how long nobody else could write.
Ends with 1 where a figure misses its limit.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from threading import Event, Thread
from typing import Any

LONGEST_S = 60.0
ROWS, KINDS = 20_000, 1_000


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"STUDIO_DATA": folder, "STUDIO_HOSTS": "testserver"}
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
        return measure()


class LongestWait:
    """Somebody else, who saves a small form twice a second meanwhile."""

    def __init__(self) -> None:
        self.longest_s = 0.0
        self._over = Event()
        self._thread = Thread(target=self._save)

    def __enter__(self) -> "LongestWait":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _save(self) -> None:
        from django.db import connection

        from studio.models import Studio

        while not self._over.wait(0.5):
            start = time.perf_counter()
            Studio.objects.update(name="Our studio")
            self.longest_s = max(self.longest_s, time.perf_counter() - start)
        connection.close()


def shelf_file() -> bytes:
    from studio.services.csv_cells import csv_lines

    header = (
        "family", "maker", "code", "colour", "form", "thickness (mm)", "length (mm)", "width (mm)",
        "pieces", "received", "supplier", "place", "price",
    )  # fmt: skip
    rows = (
        (f"Family {at % KINDS % 5}", "Mill", f"s-{at % KINDS}", f"colour {at % KINDS}", "sheet",
         2 + at % KINDS % 4, 400 + at % 700, 300 + at % 50, 1 + at % 9, "2026-05-04",
         "the mill", f"rack {at % 26}", "12.50")
        for at in range(ROWS)
    )  # fmt: skip
    return "".join(csv_lines(header, rows)).encode()


def measure() -> int:
    import django

    django.setup()
    from datetime import UTC

    from django.core.management import call_command
    from django.db import connection

    from studio.actions.list_import import list_begin, list_cancel, list_preview, list_take_in
    from studio.actions.list_run import list_run, run_beside
    from studio.csv_export import list_lines
    from studio.list_progress import progress_of
    from studio.lists import saved_lists
    from studio.models import GlassLot, ListImport, StockMovement
    from studio.services.lists.table import read_table
    from tests.factories import make_family, make_person

    call_command("migrate", verbosity=0)
    keeper = make_person("mads", role="keeper")
    for at in range(5):
        make_family(f"Family {at}")
    good = True

    def timed(name: str, act: Callable[[], Any]) -> Any:
        nonlocal good
        with LongestWait() as waited:
            start, worked = time.perf_counter(), time.process_time()
            result = act()
            took, work = time.perf_counter() - start, time.process_time() - worked
        good = good and took <= LONGEST_S
        print(
            f"  {name:32} {took:6.1f} s of {LONGEST_S:.0f}, {work:5.1f} s of processor; "
            f"somebody else waited {waited.longest_s:4.1f} s to write"
        )
        return result

    def preview(raw: bytes) -> ListImport:
        table = read_table(raw)
        taken = list_take_in(kind="shelf", by=keeper, name="shelf.csv", raw=raw, table=table)
        return list_preview(taken=taken, places=taken.places, decimal=".", day_first=True)

    def cancelled_half_way(taken: ListImport) -> ListImport:
        thread = run_beside(list_begin(taken=taken))
        while thread.is_alive():
            told = progress_of(taken.pk)
            if told is not None and told.rows > told.of / 2:
                list_cancel(taken=taken)
                break
            time.sleep(0.01)
        thread.join()
        taken.refresh_from_db()
        return taken

    print(f"{connection.vendor}, {ROWS} rows of {KINDS} glasses that are not on record")
    raw = shelf_file()
    taken = timed("read and judged", lambda: preview(raw))
    stopped = timed("cancelled half-way", lambda: cancelled_half_way(taken))
    good = good and stopped.state == "cancelled" and not GlassLot.objects.exists()
    print(f"    {stopped.state}, {GlassLot.objects.count()} lots left")
    taken = list_begin(taken=preview(raw))
    done = timed("brought in", lambda: list_run(taken=taken))
    good = good and done.state == "done" and GlassLot.objects.count() == ROWS
    print(f"    {GlassLot.objects.count()} lots, {StockMovement.objects.count()} movements")
    saved = timed(
        "saved", lambda: "".join(list_lines(saved_lists()["shelf"], keeper, UTC)).encode()
    )
    same = timed("its saved file read and judged", lambda: preview(saved))
    good = good and same.fates["same"] == ROWS
    counted = list_begin(taken=preview(_one_more(saved)))
    done = timed("every lot counted anew", lambda: list_run(taken=counted))
    good = good and done.state == "done" and StockMovement.objects.count() == 2 * ROWS
    call_command("stock_check")
    connection.close()
    return 0 if good else 1


def _one_more(saved: bytes) -> bytes:
    """The same shelf with a piece more in each row."""
    import csv
    from io import StringIO

    from studio.services.csv_cells import csv_lines

    header, *rows = csv.reader(StringIO(saved.decode("utf-8-sig"), newline=""))
    at = header.index("pieces")
    more = ([*row[:at], int(row[at]) + 1, *row[at + 1 :]] for row in rows)
    return "".join(csv_lines(header, more)).encode()


if __name__ == "__main__":
    sys.exit(main())
