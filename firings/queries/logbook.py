"""What the logbook shows of a firing, read in a fixed number of queries."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, Prefetch, QuerySet

from firings.models import Firing, LoadedPiece
from firings.models.record import WHEN
from firings.queries.record import series_without_readings
from firings.queries.visible import is_kept_from, visible_load
from studio.models import Person

NEWEST_FIRST = (F("when").desc(), F("pk").desc())


@dataclass(frozen=True)
class LogbookRow:
    """A firing with what its load came to.

    `shown` is the piece that the schedule serves, or failing that the first one; `unjudged` counts
    the pieces without a verdict, `other_verdicts` names those of the others that differ from the
    one shown, and `faults` each kind of fault, once. `is_kept` says that the reader sees of its
    load no more than their own.
    """

    firing: Firing
    pieces: tuple[LoadedPiece, ...]
    shown: LoadedPiece | None
    unjudged: int
    other_verdicts: tuple[str, ...]
    faults: tuple[str, ...]
    is_kept: bool = False

    @property
    def others(self) -> int:
        return max(len(self.pieces) - 1, 0)


def firings_for_logbook(reader: Person | None = None) -> QuerySet[Firing]:
    """All firings, newest first, with what this reader sees of their loads."""
    load = visible_load(reader).select_related("piece__maker").prefetch_related("faults")
    return (
        Firing.objects.annotate(when=WHEN)
        .select_related("kiln", "fired_by", "revision__schedule", "brought")
        .prefetch_related(Prefetch("load", load), series_without_readings())
        .order_by(*NEWEST_FIRST)
    )


def logbook_rows(firings: Iterable[Firing], reader: Person | None = None) -> list[LogbookRow]:
    return [logbook_row(firing, reader) for firing in firings]


def logbook_row(firing: Firing, reader: Person | None = None) -> LogbookRow:
    """A row of prefetched `firing.load`; its model's order puts the served piece first."""
    pieces = tuple(firing.load.all())
    faults = (fault.get_kind_display() for piece in pieces for fault in piece.faults.all())
    return LogbookRow(
        firing=firing,
        pieces=pieces,
        shown=pieces[0] if pieces else None,
        unjudged=sum(piece.verdict is None for piece in pieces),
        other_verdicts=tuple(
            dict.fromkeys(
                piece.get_verdict_display()
                for piece in pieces[1:]
                if piece.verdict not in (None, pieces[0].verdict)
            )
        ),
        faults=tuple(dict.fromkeys(faults)),
        is_kept=is_kept_from(reader, firing),
    )
