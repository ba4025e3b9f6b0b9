"""Moves a schedule to another kiln: what it becomes there is its next revision."""

from django.core.exceptions import ValidationError
from django.db import transaction

from firings.queries.to_kiln import ToKiln
from schedules.actions.revision import revision_make
from schedules.models import Revision
from studio.models import Person


@transaction.atomic
def revision_move(
    *, moved: ToKiln, by: Person, reason: str, seen: str, newest_seen: int
) -> Revision:
    """The next revision, written for the other kiln in its controller's unit.

    `moved` is by what is on record now, `seen` and `newest_seen` say what the mover read.

    Raises `ValidationError` where the numbers read differently now, because a kiln's record or a
    verdict changed, or where the kiln can't fire them; `MovedOnError` where there is a newer
    revision; and as `revision_make`.
    """
    if moved.seen != seen:
        raise ValidationError(
            "The numbers read differently now: a kiln’s record or a verdict was changed. "
            "Look at them again.",
            code="numbers_changed",
        )
    if moved.is_refused:
        raise ValidationError(
            "%(kiln)s can’t fire it as it stands.",
            params={"kiln": moved.target.kiln},
            code="refused",
        )
    return revision_make(
        schedule=moved.revision.schedule,
        by=by,
        segments=moved.translation.written,
        unit=moved.unit,
        reason=reason,
        copied_from=moved.revision,
        written_for=moved.target.kiln,
        newest_seen=newest_seen,
    )
