"""What can be fired, what speaks against it, and when it would be over."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from firings.queries.booking import Clash, clash_of, span_of_plan
from schedules.core_inputs import (
    core_segments,
    curve_of,
    kiln_limits_of,
    load_for,
    written_segments,
)
from schedules.models import Revision
from schedules.queries.opening import Opening, latest_start, opening_of
from schedules.queries.remarks import RemarkList, mends_in, remark_list, silenced_on
from schedules.services.case import Case
from schedules.services.checks import check_case
from studio.models import Kiln
from studio.queries.names import ByName
from studio.services.estimated_glass import EstimatedGlass


def revisions_to_fire(also: Iterable[Revision | int] = ()) -> QuerySet[Revision]:
    """The newest revision of each schedule in use, and those named; sorted by process."""
    newest = (
        Revision.objects.filter(schedule=OuterRef("schedule"))
        .order_by()
        .values("schedule")
        .annotate(newest=Max("number"))
        .values("newest")
    )
    named = [each.pk if isinstance(each, Revision) else each for each in also]
    return (
        Revision.objects.filter(
            Q(schedule__archived_at=None, number=Subquery(newest)) | Q(pk__in=named)
        )
        .select_related("schedule__family")
        .order_by("schedule__process", ByName("schedule__name"), "-number")
    )


def planning_remarks(
    revision: Revision, kiln: Kiln, unit: str, *, mends: bool = False
) -> RemarkList:
    """What speaks against firing this revision in this kiln, in the reader's unit; with what would
    mend it."""
    schedule, segments = revision.schedule, tuple(core_segments(revision))
    case = Case(segments, schedule.process, load_for(schedule), kiln_limits_of(kiln))
    found = check_case(case)
    return remark_list(
        found,
        unit,
        silenced=silenced_on(schedule),
        mends=mends_in(case, found, written_segments(revision), revision.unit) if mends else None,
    )


@dataclass(frozen=True)
class Outlook:
    """A planned firing as it would go: what speaks against it, and when it would be over; None
    where the kiln never gets there.
    """

    revision: Revision
    kiln: Kiln
    remarks: RemarkList
    newest: int
    """The number of the schedule's newest revision."""
    starts_at: datetime
    duration_s: float | None
    ends_at: datetime | None
    opening: Opening | None
    estimate: EstimatedGlass | None = None
    """What was assumed of the schedule's glass."""
    ready_by: datetime | None = None
    start_by: datetime | None = None
    """The latest start with which it is ready by then."""
    clash: Clash | None = None
    """What else holds the kiln at the planned time."""

    @property
    def is_late(self) -> bool:
        return self.start_by is not None and self.starts_at > self.start_by


def start_by(revision: Revision, kiln: Kiln, ready_by: datetime) -> datetime | None:
    """The latest start with which it can be opened by then; None where it never cools so far."""
    opening = opening_of(curve_of(revision, kiln))
    return None if opening is None else latest_start(opening, ready_by)


def outlook_of(
    revision: Revision,
    kiln: Kiln,
    unit: str,
    starts_at: datetime | None,
    ready_by: datetime | None = None,
) -> Outlook:
    """As it goes when it is started then, failing that now."""
    curve = curve_of(revision, kiln)
    start = starts_at or timezone.now()
    opening = opening_of(curve, start)
    wanted = None if starts_at is None else span_of_plan(curve, starts_at)
    return Outlook(
        revision=revision,
        kiln=kiln,
        remarks=planning_remarks(revision, kiln, unit, mends=True),
        newest=revision.schedule.revisions.latest().number,
        starts_at=start,
        duration_s=curve.duration,
        ends_at=None if curve.duration is None else start + timedelta(seconds=curve.duration),
        opening=opening,
        estimate=load_for(revision.schedule).estimate,
        ready_by=ready_by,
        start_by=None if ready_by is None or opening is None else latest_start(opening, ready_by),
        clash=None if wanted is None else clash_of(kiln, wanted),
    )
