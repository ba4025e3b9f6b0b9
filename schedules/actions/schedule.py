"""Makes schedules, and puts them away and back; none is ever deleted."""

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from schedules.actions.revision import revision_make
from schedules.models import Revision, Schedule
from schedules.services.writing import WrittenSegment
from studio.models import GlassFamily, Kiln, Person


@transaction.atomic
def schedule_make(
    *,
    owner: Person,
    name: str,
    process: str,
    family: GlassFamily | None,
    thinnest_mm: float,
    thickest_mm: float,
    segments: Sequence[WrittenSegment],
    unit: str,
    reason: str = "First writing.",
    note: str = "",
    written_for: Kiln | None = None,
    copied_from: Revision | None = None,
) -> Schedule:
    """A new schedule with its revision 1; `ValidationError` as `revision_make`."""
    schedule = Schedule(
        owner=owner,
        name=name,
        process=process,
        family=family,
        thinnest_mm=thinnest_mm,
        thickest_mm=thickest_mm,
        note=note,
    )
    schedule.full_clean()
    schedule.save()
    revision_make(
        schedule=schedule,
        by=owner,
        segments=segments,
        unit=unit,
        reason=reason,
        written_for=written_for,
        copied_from=copied_from,
    )
    return schedule


@transaction.atomic
def schedule_archive(*, schedule: Schedule) -> Schedule:
    """Put a schedule away; archived once already, it keeps its first date."""
    schedule = Schedule.objects.select_for_update().get(pk=schedule.pk)
    if schedule.archived_at is None:
        schedule.archived_at = timezone.now()
        schedule.save(update_fields=["archived_at"])
    return schedule


@transaction.atomic
def schedule_restore(*, schedule: Schedule) -> Schedule:
    schedule = Schedule.objects.select_for_update().get(pk=schedule.pk)
    if schedule.archived_at is not None:
        schedule.archived_at = None
        schedule.save(update_fields=["archived_at"])
    return schedule
