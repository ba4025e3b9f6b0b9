"""What is likely for a firing that somebody is about to write down, from the last in that kiln."""

from datetime import datetime, timedelta
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from firings.models import Firing, FiringState
from firings.queries.visible import visible_load
from schedules.models import Revision
from studio.models import Kiln, Person

EVENING_H = 18  # most kilns are started in the evening and opened in the morning


def likely_kiln(person: Person) -> Kiln | None:
    """The kiln in which this person fired last, or the first in service."""
    last = _fired().filter(fired_by=person).select_related("kiln").first()
    return last.kiln if last else Kiln.objects.order_by("-in_service", "name").first()


def likely_facts(kiln: Kiln, person: Person) -> dict[str, Any]:
    """Starting values for the form. Nothing that is measured is ever among them."""
    fired = _fired().filter(kiln=kiln).select_related("revision__schedule")
    last = fired.filter(fired_by=person).first() or fired.first()
    facts: dict[str, Any] = {"opened_at": timezone.now(), "started_at": _evening_before(last)}
    if last is None:
        return facts
    facts["revision"] = Revision.objects.filter(schedule=last.revision.schedule_id).latest()
    served = visible_load(person).filter(firing=last, is_served=True).first()
    if served is not None:
        same = ("glass", "layers", "thickest_mm", "place", "wanted")
        facts |= {name: getattr(served, name) for name in same}
    return facts


def _fired() -> QuerySet[Firing]:
    return Firing.objects.filter(state=FiringState.OPENED).order_by("-started_at", "-pk")


def _evening_before(last: Firing | None) -> datetime:
    """Yesterday, at the time of day at which this kiln was started last."""
    usual = timezone.localtime(last.started_at) if last and last.started_at else None
    hour, minute = (usual.hour, usual.minute) if usual else (EVENING_H, 0)
    yesterday = timezone.localtime() - timedelta(days=1)
    return yesterday.replace(hour=hour, minute=minute, second=0, microsecond=0)
