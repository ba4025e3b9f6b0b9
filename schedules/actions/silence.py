"""Silences remarks for a schedule, and lets them be heard again; nothing of it is forgotten."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from schedules.models import Schedule, SilencedRemark
from schedules.services.checks import Remark
from studio.formats import plain
from studio.models import Person


@transaction.atomic
def remark_silence(
    *, schedule: Schedule, remark: Remark, reason: str, by: Person
) -> SilencedRemark:
    """Silences a remark for a schedule, as it is now.

    One that was silenced before, and has become clearly worse since, is silenced anew.

    Raises `ValidationError`, and writes nothing, without a reason or for a remark that blocks.
    """
    schedule = Schedule.objects.select_for_update().get(pk=schedule.pk)
    if remark.severity == "block":
        raise ValidationError("What can’t be fired so is never silenced.", code="blocks")
    position = None if remark.segment is None else remark.segment + 1
    now = timezone.now()
    schedule.silenced_remarks.filter(
        code=remark.code, position=position, heard_again_at=None
    ).update(heard_again_by=by, heard_again_at=now)
    silenced = SilencedRemark(
        schedule=schedule,
        code=remark.code,
        position=position,
        severity=remark.severity,
        figure=remark.figure,
        limit=remark.limit,
        reason=plain(reason).strip(),
        silenced_by=by,
        silenced_at=now,
    )
    silenced.full_clean()
    silenced.save()
    return silenced


@transaction.atomic
def remark_hear(*, silenced: SilencedRemark, by: Person) -> SilencedRemark:
    """The remark is heard again, wherever its schedule is shown; once it is, this does nothing."""
    silenced = SilencedRemark.objects.select_for_update().get(pk=silenced.pk)
    if silenced.heard_again_at is None:
        silenced.heard_again_by, silenced.heard_again_at = by, timezone.now()
        silenced.full_clean()
        silenced.save()
    return silenced
