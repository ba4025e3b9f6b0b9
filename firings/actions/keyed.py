"""Keeps what was keyed into the controller otherwise than the revision says."""

from collections.abc import Sequence
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from firings.actions.recording import series_follow_plan
from firings.models import Firing, KeyedDifference
from firings.models.record import KeyedPart
from schedules.core_inputs import written_segments
from schedules.services.writing import WrittenSegment


@transaction.atomic
def keyed_set(*, firing: Firing, keyed: Sequence[WrittenSegment]) -> list[KeyedDifference]:
    """Replace the firing's differences by those between `keyed` and its revision, in its unit."""
    firing = Firing.objects.select_for_update().get(pk=firing.pk)
    written = written_segments(firing.revision)
    if len(keyed) != len(written):
        raise ValidationError(
            "The revision has %(count)s segments.", params={"count": len(written)}, code="segments"
        )
    firing.keyed_differences.all().delete()
    differences = [
        KeyedDifference(firing=firing, position=position, part=part, value=value)
        for position, (was_keyed, as_written) in enumerate(
            zip(keyed, written, strict=True), start=1
        )
        for part, value in _differing(was_keyed, as_written)
    ]
    for difference in differences:
        difference.full_clean()
        difference.save()
    series_follow_plan(firing=firing)
    return differences


def _differing(
    keyed: WrittenSegment, written: WrittenSegment
) -> list[tuple[KeyedPart, Decimal | None]]:
    pairs = [
        (KeyedPart.RATE, keyed.rate, written.rate),
        (KeyedPart.TARGET, keyed.target, written.target),
        (KeyedPart.HOLD, keyed.hold_minutes, written.hold_minutes),
    ]
    return [(part, now) for part, now, before in pairs if now != before]
