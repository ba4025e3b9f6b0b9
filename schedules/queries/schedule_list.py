"""The list of schedules: each with its newest revision and the time that it takes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, QuerySet, Subquery

from schedules.core_inputs import curve_of
from schedules.models import Revision, Schedule
from studio.queries.names import ByName


@dataclass(frozen=True)
class ScheduleLine:
    schedule: Schedule
    newest: Revision | None
    total_s: float | None

    @property
    def changed_at(self) -> datetime:
        return self.schedule.made_at if self.newest is None else self.newest.made_at


def schedules_to_list() -> QuerySet[Schedule]:
    newest = Revision.objects.filter(schedule=OuterRef("pk")).order_by("-number").values("pk")[:1]
    rows = Schedule.objects.select_related("family", "owner").order_by(ByName("name"), "pk")
    return rows.annotate(newest_pk=Subquery(newest))


def schedule_lines(schedules: Iterable[Schedule]) -> list[ScheduleLine]:
    """Two queries for any number of schedules from `schedules_to_list`."""
    schedules = list(schedules)
    newest = (
        Revision.objects.select_related("written_for__learnt_response")
        .prefetch_related("segments")
        .in_bulk([schedule.newest_pk for schedule in schedules if schedule.newest_pk])  # type: ignore[attr-defined]
    )
    return [
        _line(schedule, newest.get(schedule.newest_pk))  # type: ignore[attr-defined]
        for schedule in schedules
    ]


def _line(schedule: Schedule, newest: Revision | None) -> ScheduleLine:
    total_s = None
    if newest is not None and newest.written_for is not None:
        total_s = curve_of(newest, newest.written_for).duration
    return ScheduleLine(schedule, newest, total_s)
