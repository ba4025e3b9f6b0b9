"""The loggers of a kiln, and what they sent that waits for its firing."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Count, Max, QuerySet

from firings.models import Firing, FiringState, LoggedReading, LoggerToken
from studio.models import Kiln


@dataclass(frozen=True)
class Waiting:
    """Readings of a kiln that are not packed yet; `running` is the firing that will have the last
    of them.
    """

    count: int
    last_at: datetime | None
    last: LoggedReading | None
    running: Firing | None


def loggers_of(kiln: Kiln) -> QuerySet[LoggerToken]:
    """Those that may send first."""
    return kiln.logger_tokens.select_related("made_by")


def waiting_of(kiln: Kiln) -> Waiting:
    told: dict[str, Any] = kiln.logged_readings.aggregate(count=Count("pk"), last_at=Max("at"))
    running = Firing.objects.filter(kiln=kiln, state=FiringState.FIRING).first()
    return Waiting(last=kiln.logged_readings.order_by("-at").first(), running=running, **told)
