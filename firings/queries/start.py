"""A firing about to be started: when it could be opened, and what is looked at before."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.utils import timezone

from firings.core_inputs import keyed_curve
from firings.models import Firing, StartCheck
from firings.queries.booking import Clash, clash_of, span_of_plan
from schedules.queries.opening import Opening, latest_start, opening_of


@dataclass(frozen=True)
class StartChecks:
    rows: list[StartCheck]

    @cached_property
    def left(self) -> list[StartCheck]:
        """Lines that nobody ticked."""
        return [row for row in self.rows if not row.is_ticked]

    @property
    def ticked(self) -> int:
        return len(self.rows) - len(self.left)

    @property
    def by(self) -> StartCheck | None:
        return self.rows[0] if self.rows else None


def start_checks_of(firing: Firing) -> StartChecks:
    return StartChecks(list(firing.start_checks.all()))


@dataclass(frozen=True)
class StartNow:
    """When it could be opened if it were started now, and the start for an opening by `ready_by`;
    None where the kiln never cools so far, or nobody asked.
    """

    opening: Opening | None
    ready_by: datetime | None
    start_by: datetime | None
    clash: Clash | None = None
    """What is planned while the kiln would still be taken."""

    @property
    def is_late(self) -> bool:
        return self.start_by is not None and self.start_by < timezone.now()


def start_now(firing: Firing, ready_by: datetime | None = None) -> StartNow:
    curve, now = keyed_curve(firing), timezone.now()
    opening, wanted = opening_of(curve, now), span_of_plan(curve, now)
    start = None if opening is None or ready_by is None else latest_start(opening, ready_by)
    clash = None if wanted is None else clash_of(firing.kiln, wanted, now, but=firing)
    return StartNow(opening, ready_by, start, clash)
