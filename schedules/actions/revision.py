"""Makes revisions. None is ever changed: each edit is the next one, with its reason."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from schedules.models import Revision, RevisionSegment, Schedule
from schedules.services.writing import WrittenSegment
from studio.formats import plain
from studio.models import Kiln, Person


class MovedOnError(ValidationError):
    """Somebody has made a revision since the one that the writer saw as the newest."""

    def __init__(self, newest: Revision) -> None:
        self.newest = newest
        super().__init__(
            "%(who)s has made revision %(number)s meanwhile: “%(reason)s”.",
            params={
                "who": newest.made_by,
                "number": newest.number,
                "reason": newest.reason,
            },
            code="moved_on",
        )


@transaction.atomic
def revision_make(
    *,
    schedule: Schedule,
    by: Person,
    segments: Sequence[WrittenSegment],
    unit: str,
    reason: str,
    copied_from: Revision | None = None,
    written_for: Kiln | None = None,
    newest_seen: int | None = None,
) -> Revision:
    """The next revision of a schedule, its segments exactly as written in `unit`.

    The schedule's row is locked, so that two people at once get two numbers. `newest_seen` is the
    number of the newest revision that the writer knew of; give it to be told by `MovedOnError` that
    there is a newer one, and leave it out to write on top of whatever there is.

    Raises `ValidationError`, and writes nothing, for an archived schedule, no segments, a number
    that no segment takes, or a missing reason.
    """
    schedule = Schedule.objects.select_for_update().get(pk=schedule.pk)
    if schedule.archived_at is not None:
        raise ValidationError("This schedule is archived; restore it first.", code="archived")
    if not segments:
        raise ValidationError("A schedule has at least one segment.", code="no_segments")
    newest = schedule.revisions.select_related("made_by").first()
    if newest is not None and newest_seen is not None and newest.number != newest_seen:
        raise MovedOnError(newest)
    revision = Revision(
        schedule=schedule,
        number=1 if newest is None else newest.number + 1,
        unit=unit,
        reason=plain(reason).strip(),
        made_by=by,
        copied_from=copied_from,
        written_for=written_for,
    )
    revision.full_clean()
    revision.save()
    rows = [_row(revision, position, each) for position, each in enumerate(segments, start=1)]
    RevisionSegment.objects.bulk_create(rows)
    return revision


def _row(revision: Revision, position: int, written: WrittenSegment) -> RevisionSegment:
    if written.hold_minutes != int(written.hold_minutes):
        raise ValidationError(
            "Segment %(position)s: a hold is a whole number of minutes.",
            params={"position": position},
            code="hold_not_whole",
        )
    row = RevisionSegment(
        revision=revision,
        position=position,
        rate=written.rate,
        target=written.target,
        hold_minutes=int(written.hold_minutes),
    )
    row.full_clean()
    return row
