"""A kiln's firings, how they kept to their plans, and what its service diary has seen since."""

import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import FloatField, Q, QuerySet
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from firings.core_inputs import keyed_segments
from firings.models import Firing, FiringState
from firings.queries.logbook import LogbookRow, firings_for_logbook, logbook_row
from firings.recording_inputs import summary_of
from firings.services.top import find_top
from studio.models import Kiln, Person, ServiceEntry

LAST_FIRINGS = 20


@dataclass(frozen=True)
class ServiceLine:
    """A service with the firings since, and the seconds that were noted of them.

    `untimed` counts the firings of which no duration was noted; their hours are not guessed.
    """

    entry: ServiceEntry
    firings: int
    seconds: float
    untimed: int


@dataclass(frozen=True)
class HistoryRow:
    """A firing with its keyed and recorded peaks, °C; None where none was recorded."""

    row: LogbookRow
    keyed_peak: float
    recorded_peak: float | None

    @property
    def peak_difference(self) -> float | None:
        return None if self.recorded_peak is None else self.recorded_peak - self.keyed_peak


@dataclass(frozen=True)
class PeakDifferences:
    """Recorded less keyed peak over the last firings in which one was noted, °C."""

    values: tuple[float, ...]

    @property
    def median(self) -> float:
        return statistics.median(self.values)

    @property
    def lowest(self) -> float:
        return min(self.values)

    @property
    def highest(self) -> float:
        return max(self.values)


def firings_in(kiln: Kiln, reader: Person | None = None) -> QuerySet[Firing]:
    """What was started in this kiln, the latest first."""
    started = (FiringState.FIRING, FiringState.OPENED)
    return (
        firings_for_logbook(reader)
        .filter(kiln=kiln, state__in=started)
        .prefetch_related("revision__segments", "keyed_differences")
    )


def history_rows(firings: Iterable[Firing], reader: Person | None = None) -> list[HistoryRow]:
    return [_history_row(firing, reader) for firing in firings]


def _history_row(firing: Firing, reader: Person | None) -> HistoryRow:
    keyed, recorded = find_top(keyed_segments(firing)).peak, summary_of(firing).peak
    return HistoryRow(logbook_row(firing, reader), keyed, recorded)


def peak_differences(kiln: Kiln) -> PeakDifferences | None:
    """Of the last firings of which a peak is known, the latest first; None where none is."""
    known = Q(recorded_peak_c__isnull=False) | Q(series__peak_c__isnull=False)
    rows = history_rows(firings_in(kiln).filter(known)[:LAST_FIRINGS])
    values = tuple(row.peak_difference for row in rows if row.peak_difference is not None)
    return PeakDifferences(values) if values else None


def service_lines(kiln: Kiln) -> list[ServiceLine]:
    """The service diary, the latest first; a firing on the day of a service counts as since."""
    started = Firing.objects.filter(kiln=kiln, started_at__isnull=False)
    runs = [
        (timezone.localdate(at), duration)
        for at, duration in started.values_list(
            "started_at", Coalesce("series__duration_s", Cast("recorded_duration_s", FloatField()))
        )
    ]
    return [_service_line(entry, runs) for entry in kiln.service_entries.all()]


def _service_line(entry: ServiceEntry, runs: Sequence[tuple[date, float | None]]) -> ServiceLine:
    since = [duration for day, duration in runs if day >= entry.done_on]
    timed = [duration for duration in since if duration is not None]
    return ServiceLine(entry, len(since), float(sum(timed)), len(since) - len(timed))
