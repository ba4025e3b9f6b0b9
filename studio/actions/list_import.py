"""A list that is brought in, up to its preview: taken in, its columns matched, its rows judged."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from datetime import timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from studio import lists
from studio.list_progress import Progress, progress_forget, progress_of, stop_ask
from studio.lists import BroughtList, brought_list
from studio.models import ImportState, ListImport, Person
from studio.models.list_import import packed
from studio.services.lists.columns import guess_columns, read_as
from studio.services.lists.fates import FATES, Judged
from studio.services.lists.table import Table
from studio.services.lists.values import Reading

KEPT_FOR = timedelta(days=30)


@transaction.atomic
def list_take_in(*, kind: str, by: Person, name: str, raw: bytes, table: Table) -> ListImport:
    """The table of a file, its columns matched as those of the last file with such headers, or
    else as they are called."""
    taken = ListImport(
        kind=kind,
        by=by,
        name=_short_name(name),
        digest=hashlib.sha256(raw).hexdigest(),
        headers_digest=hashlib.sha256(repr(table.headers).encode()).hexdigest(),
        packed=packed([table.headers, [[row.line, row.cells] for row in table.rows]]),
        rows=len(table.rows),
    )
    before = (
        ListImport.objects.filter(kind=kind, headers_digest=taken.headers_digest)
        .exclude(places={})
        .exclude(state=ImportState.READ)
        .order_by("-pk")
        .first()
    )
    columns = lists.brought_lists()[kind].columns
    taken.places = before.places if before else guess_columns(table.headers, columns)
    reading = read_as(table, columns, taken.places)
    taken.decimal, taken.day_first = reading.decimal, reading.day_first
    taken.temperature_unit = before.temperature_unit if before else ""
    taken.full_clean(exclude=["packed"])
    taken.save()
    return taken


def list_preview(
    *,
    taken: ListImport,
    places: Mapping[str, int],
    decimal: str,
    day_first: bool,
    temperature_unit: str = "",
) -> ListImport:
    """The fate of each row, kept with what it was read by; nothing else is written."""
    brought = _brought(taken)
    table = taken.table
    asked = Reading(decimal, day_first, temperature=temperature_unit)
    reading = read_as(table, brought.columns, places, asked)
    rows = list(judge_rows(brought, brought.known(taken.by), table, places, reading))
    with transaction.atomic():
        taken = _unfinished(taken)
        taken.places, taken.decimal, taken.day_first = dict(places), decimal, day_first
        taken.temperature_unit = temperature_unit
        _keep_preview(taken, rows)
        taken.save()
    return taken


def _keep_preview(taken: ListImport, rows: list[Judged]) -> None:
    count = Counter(row.fate for row in rows)
    taken.fates = {fate: count[fate] for fate in FATES}
    taken.judged = packed([shown(row) for row in in_order_of_fate(rows)])
    taken.state = ImportState.PREVIEWED
    taken.failure = ""


def judge_rows(
    brought: BroughtList, known: Any, table: Table, places: Mapping[str, int], reading: Reading
) -> Iterator[Judged]:
    judge = brought.judge(known, reading)
    for row in table.rows:
        yield judge.judge(row.line, {name: row.cells[at] for name, at in places.items()})


def shown(row: Judged) -> list[Any]:
    """What of a row is kept with its preview, as JSON gives it back."""
    reason = None if row.reason is None else asdict(row.reason)
    return [row.line, row.fate, row.says, reason, [asdict(each) for each in row.changes]]


def in_order_of_fate(rows: Iterable[Judged]) -> list[Judged]:
    """Refused ones first, each as they stand in the file."""
    return sorted(rows, key=lambda row: FATES.index(row.fate))


def list_look_again(*, taken: ListImport) -> ListImport:
    """A fresh preview, read as before."""
    return list_preview(
        taken=taken,
        places=taken.places,
        decimal=taken.decimal,
        day_first=taken.day_first,
        temperature_unit=taken.temperature_unit,
    )


def list_begin(*, taken: ListImport) -> ListImport:
    """Marked as running; whoever calls runs it then (`studio.actions.list_run`).

    One list at a time: what another row was judged by would change beneath it.
    """
    try:
        with transaction.atomic():
            return _begun(taken)
    except IntegrityError:  # two began in the same moment
        raise _running() from None


def _begun(taken: ListImport) -> ListImport:
    for other in ListImport.objects.select_for_update().filter(state=ImportState.RUNNING):
        if not has_stopped(other):
            raise _running()
        other.state, other.failure = ImportState.FAILED, "stopped"
        other.ended_at = timezone.now()
        other.save()
    taken = ListImport.objects.select_for_update().get(pk=taken.pk)
    if taken.state != ImportState.PREVIEWED:
        raise ValidationError("Look at what becomes of its rows first.", code="not_previewed")
    progress_forget(taken.pk)
    taken.state, taken.failure, taken.begun_at = ImportState.RUNNING, "", timezone.now()
    taken.save()
    return taken


def _running() -> ValidationError:
    return ValidationError(
        "A list is being brought in just now; begin when it is done.", code="running"
    )


def list_cancel(*, taken: ListImport) -> None:
    """What runs is asked to stop, and ends as cancelled; what doesn't run yet is cancelled now."""
    running = ListImport.objects.filter(pk=taken.pk, state=ImportState.RUNNING).first()
    if running is not None and not has_stopped(running):
        stop_ask(taken.pk)  # no row: while it runs nobody else may be able to write one
        return
    with transaction.atomic():
        taken = _unfinished(taken)
        taken.state, taken.ended_at = ImportState.CANCELLED, timezone.now()
        taken.save()


def lists_forget() -> None:
    """What was begun a month ago and never brought in; what was stays to be read."""
    old = ListImport.objects.filter(made_at__lt=timezone.now() - KEPT_FOR)
    old.exclude(state__in=(ImportState.DONE, ImportState.RUNNING)).delete()


def has_stopped(taken: ListImport) -> bool:
    """Whether what is marked as running has no process any more: a server that was restarted."""
    if taken.state != ImportState.RUNNING or taken.begun_at is None:
        return False
    heard = progress_of(taken.pk) or Progress(0, taken.rows, taken.begun_at.timestamp())
    return heard.is_silent


def _brought(taken: ListImport) -> BroughtList:
    brought = brought_list(taken.kind)
    if brought is None:
        raise LookupError(taken.kind)
    return brought


def _unfinished(taken: ListImport) -> ListImport:
    taken = ListImport.objects.select_for_update().get(pk=taken.pk)
    if taken.is_over or (taken.state == ImportState.RUNNING and not has_stopped(taken)):
        raise ValidationError("That is under way or over; look at it again.", code="over")
    return taken


def _short_name(name: str) -> str:
    longest = ListImport._meta.get_field("name").max_length or 0
    return name if len(name) <= longest else f"{name[: longest - 40]}…{name[-39:]}"
