"""Brings a previewed list in: all rows that were not refused in one transaction, or none."""

import logging
from threading import Thread
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection, transaction
from django.db.models import QuerySet
from django.utils import timezone

from studio.actions.list_import import in_order_of_fate, judge_rows, shown
from studio.list_progress import progress_forget, progress_tell, stop_is_asked
from studio.lists import BroughtList, Tick, brought_lists
from studio.models import ImportState, ListImport, Studio
from studio.models.list_import import unpacked
from studio.services.lists.columns import read_as
from studio.services.lists.fates import CHANGED, NEW, Judged
from studio.services.lists.table import Table
from studio.services.lists.values import Reading

TOLD_EVERY = 250
JUDGED_FOR_ONE = 4
"""Rows that are judged in the time in which one is written, about; for an even progress."""

log = logging.getLogger(__name__)


class _StoppedError(Exception):
    """Somebody asked for it."""


class _MovedOnError(Exception):
    """A row would no longer come to what its preview showed."""


def run_beside(taken: ListImport) -> Thread:
    """Run it in a thread of its own, with a connection of its own, beside what answers requests.

    It ends with the process; the database then takes back what it wrote, and after a minute
    without a word of it `has_stopped` says so.
    """

    def work() -> None:
        try:
            with timezone.override(ZoneInfo(Studio.current().time_zone)):
                list_run(taken=taken)
        finally:
            connection.close()

    thread = Thread(target=work, name=f"list {taken.pk}", daemon=True)
    thread.start()
    return thread


def run_soon(taken: ListImport) -> None:
    """Beside, once it is sure that it begins: a thread finds nothing of what is not committed."""
    transaction.on_commit(lambda: run_beside(taken))


def list_run(*, taken: ListImport) -> ListImport:
    """Bring it in, and say how that ended. `taken` is as `list_begin` gave it."""
    try:
        _bring_in(taken)
    except _StoppedError:
        _end(taken, ImportState.CANCELLED)
    except _MovedOnError:
        _end(taken, ImportState.FAILED, "moved_on")
    except Exception:
        log.exception("Could not bring in list %s.", taken.pk)
        _end(taken, ImportState.FAILED, "error")
    finally:
        progress_forget(taken.pk)
    taken.refresh_from_db()
    return taken


def _bring_in(taken: ListImport) -> None:
    """Judged before the transaction, so that it is short; and again within it only where something
    was changed in between, which may be of no matter to these rows."""
    brought, table = brought_lists()[taken.kind], taken.table
    asked = Reading(taken.decimal, taken.day_first, temperature=taken.temperature_unit)
    reading = read_as(table, brought.columns, taken.places, asked)
    known = brought.known(taken.by)
    rows = _judged(taken, brought, known, table, reading)
    with transaction.atomic():
        brought.hold(_to_write(rows))
        now = brought.known(taken.by)
        if now != known:
            rows = _judged(taken, brought, now, table, reading)
        tell = _teller(taken, first=taken.rows // JUDGED_FOR_ONE)
        reason = f"list {taken.name}"[:200]
        brought.write(_to_write(rows), taken=taken, reason=reason, tick=tell)
        if stop_is_asked(taken.pk):
            raise _StoppedError
        # Nobody else may have begun it anew, taking this run for dead.
        if not _this_run(taken).update(state=ImportState.DONE, ended_at=timezone.now()):
            raise _StoppedError


def _judged(
    taken: ListImport, brought: BroughtList, known: Any, table: Table, reading: Reading
) -> list[Judged]:
    """Each row as its preview showed it, or none is taken."""
    tell = _teller(taken, first=0)
    rows = []
    for row in judge_rows(brought, known, table, taken.places, reading):
        rows.append(row)
        tell(len(rows) // JUDGED_FOR_ONE)
    if unpacked(taken.judged or b"") != [shown(row) for row in in_order_of_fate(rows)]:
        raise _MovedOnError
    return rows


def _to_write(rows: list[Judged]) -> list[Judged]:
    return [row for row in rows if row.fate in (NEW, CHANGED)]


def _teller(taken: ListImport, first: int) -> Tick:
    """Tells how far it is, now and then, and stops where somebody wants that."""
    of = taken.rows // JUDGED_FOR_ONE + taken.fates[NEW] + taken.fates[CHANGED]
    last = -TOLD_EVERY

    def tell(done: int) -> None:
        nonlocal last
        if done - last < TOLD_EVERY:
            return
        last = done
        if stop_is_asked(taken.pk):
            raise _StoppedError
        progress_tell(taken.pk, first + done, max(of, 1))

    return tell


def _end(taken: ListImport, state: str, failure: str = "") -> None:
    _this_run(taken).update(state=state, failure=failure, ended_at=timezone.now())


def _this_run(taken: ListImport) -> QuerySet[ListImport]:
    """Empty where somebody took it for dead and began anew."""
    return ListImport.objects.filter(
        pk=taken.pk, state=ImportState.RUNNING, begun_at=taken.begun_at
    )
