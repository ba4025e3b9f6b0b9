"""5,000 past firings with sixty kinds of mess: `python -m tests.benchmarks.past_import`.

They are looked at, cancelled half-way, which leaves nothing, brought in, and looked at again, which
finds nothing new. A database of its own in a temporary folder, or the one that `DATABASE_URL`
names, which is taken as empty. Ends with 1 where a figure misses its limit.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Any

LONGEST_S = 30.0
ROWS, KILNS, SCHEDULES = 5_000, 5, 50


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"STUDIO_DATA": folder, "STUDIO_HOSTS": "testserver"}
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
        return measure()


def measure() -> int:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection

    from firings.models import Firing
    from studio.actions.list_import import list_begin, list_cancel, list_preview, list_take_in
    from studio.actions.list_run import run_beside
    from studio.list_progress import progress_of
    from studio.models import ListImport
    from studio.services.lists.table import read_table
    from tests.factories import make_kiln, make_person, make_revision, make_schedule
    from tests.firings.past.mixed import MESS, messy_file, refused_in

    call_command("migrate", verbosity=0)
    keeper = make_person("mads", role="keeper")
    make_person("inka", name="Inka")
    for at in range(KILNS):
        make_kiln(f"Kiln {at}" if at else "Heron")
    for at in range(SCHEDULES):
        make_revision(make_schedule(keeper, name=f"Schedule {at}"))
    raw = messy_file(ROWS, kilns=KILNS, schedules=SCHEDULES)
    good = True

    def timed(name: str, act: Callable[[], Any]) -> Any:
        nonlocal good
        start, worked = time.perf_counter(), time.process_time()
        result = act()
        took, work = time.perf_counter() - start, time.process_time() - worked
        good = good and took <= LONGEST_S
        print(f"  {name:32} {took:6.1f} s of {LONGEST_S:.0f}, {work:5.1f} s of processor")
        return result

    def preview() -> ListImport:
        table = read_table(raw)
        taken = list_take_in(kind="firings", by=keeper, name="past.csv", raw=raw, table=table)
        return list_preview(
            taken=taken, places=taken.places, decimal=".", day_first=True, temperature_unit="C"
        )

    def run(taken: ListImport, stop_at: float = 2.0) -> ListImport:
        """Beside, as the page does; stopped where its progress reaches a share."""
        thread = run_beside(list_begin(taken=taken))
        told = 0
        while thread.is_alive():
            heard = progress_of(taken.pk)
            told += heard is not None
            if heard is not None and heard.rows >= stop_at * heard.of:
                list_cancel(taken=taken)
                break
            time.sleep(0.01)
        thread.join()
        taken.refresh_from_db()
        return taken

    print(f"{connection.vendor}, {ROWS} rows, {len(MESS)} kinds of mess in a third of them")
    taken = timed("read and judged", preview)
    stopped = timed("cancelled half-way", lambda: run(taken, 0.5))
    good = good and stopped.state == "cancelled" and not Firing.objects.exists()
    print(f"    {stopped.state}, {Firing.objects.count()} firings left")
    taken = preview()
    done = timed("brought in", lambda: run(taken))
    new = ROWS - refused_in(ROWS)
    good = good and done.state == "done" and Firing.objects.count() == new
    print(f"    {Firing.objects.count()} firings of {new}, {done.fates['refused']} rows refused")
    again = timed("the same again", preview)
    good = good and again.fates["new"] == 0 and again.fates["same"] == new
    print(f"    {again.fates}")
    connection.close()
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
