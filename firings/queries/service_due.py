"""Which kilns want a service, by the firings and hours since the last one of its kind."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from firings.models import Firing, FiringState
from studio import access
from studio.models import Kiln, Person, ServiceEntry, ServiceInterval

SECONDS_PER_HOUR = 3600
NEAR = 0.9


@dataclass(frozen=True)
class ServiceDue:
    """`since` is the day of the last service of its kind, None for none; `untimed` of the firings
    have no duration on record, so that the hours are at least what stands there."""

    interval: ServiceInterval
    since: date | None
    firings: int
    seconds: float
    untimed: int

    @property
    def hours(self) -> float:
        return self.seconds / SECONDS_PER_HOUR

    @property
    def share(self) -> float:
        """Of the interval that is used up, the more pressing of both."""
        by_firings = self.firings / (self.interval.every_firings or float("inf"))
        by_hours = self.hours / (self.interval.every_hours or float("inf"))
        return max(by_firings, by_hours)

    @property
    def is_due(self) -> bool:
        return self.share >= 1

    @property
    def is_near(self) -> bool:
        return self.share >= NEAR


def services_due(kilns: Iterable[Kiln] | None = None) -> list[ServiceDue]:
    """Of these kilns or of all, the most pressing first; three queries."""
    intervals = ServiceInterval.objects.select_related("kiln")
    if kilns is not None:
        intervals = intervals.filter(kiln__in=kilns)
    found = list(intervals)
    if not found:
        return []
    of = {each.kiln_id for each in found}
    last: dict[tuple[int, str], date] = {}
    entries = ServiceEntry.objects.filter(kiln__in=of).order_by("done_on")
    for kiln, kind, done_on in entries.values_list("kiln_id", "kind", "done_on"):
        last[kiln, kind] = done_on
    fired: dict[int, list[tuple[date, int | None]]] = defaultdict(list)
    rows = Firing.objects.filter(
        kiln__in=of, state__in=[FiringState.FIRING, FiringState.OPENED], started_at__isnull=False
    ).order_by()
    for kiln, at, seconds in rows.values_list("kiln_id", "started_at", "recorded_duration_s"):
        if at is not None:
            fired[kiln].append((timezone.localdate(at), seconds))
    due = [_due(each, last.get((each.kiln_id, each.kind)), fired[each.kiln_id]) for each in found]
    return sorted(due, key=lambda each: -each.share)


def _due(
    interval: ServiceInterval, since: date | None, fired: Iterable[tuple[date, int | None]]
) -> ServiceDue:
    """A firing on the day of the service counts as after it: a kiln is looked after cold."""
    after = [seconds for day, seconds in fired if since is None or day >= since]
    return ServiceDue(
        interval=interval,
        since=since,
        firings=len(after),
        seconds=sum(seconds or 0 for seconds in after),
        untimed=sum(seconds is None for seconds in after),
    )


def due_services(reader: Person) -> list[ServiceDue]:
    """What is due or nearly, for whoever may see to it."""
    if not access.may(reader, "kiln.change"):
        return []
    return [each for each in services_due() if each.is_near]
