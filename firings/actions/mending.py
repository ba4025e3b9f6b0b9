"""Makes the revision that satisfies a remark, and has a planned firing fired by it."""

from collections.abc import Sequence

from django.db import transaction

from firings.actions.record import firing_change
from firings.models import Firing
from schedules.actions.revision import revision_make
from schedules.models import Revision
from schedules.services.writing import WrittenSegment
from studio.models import Person


def revision_mend(
    *,
    revision: Revision,
    by: Person,
    segments: Sequence[WrittenSegment],
    reason: str,
    newest_seen: int | None,
) -> Revision:
    """The next revision of its schedule, with `segments` in the unit of this one; raises as
    `revision_make`."""
    return revision_make(
        schedule=revision.schedule,
        by=by,
        segments=segments,
        unit=revision.unit,
        reason=reason,
        copied_from=revision,
        written_for=revision.written_for,
        newest_seen=newest_seen,
    )


@transaction.atomic
def firing_mend(
    *,
    firing: Firing,
    by: Person,
    segments: Sequence[WrittenSegment],
    reason: str,
    newest_seen: int | None,
) -> Firing:
    """The firing, to be fired by the next revision of its schedule, as `revision_mend` makes it.

    Raises, and writes nothing, `StateError` once it isn't planned any more, `MovedOnError` where
    there is a newer revision than was seen, and `ValidationError` as `revision_make` and
    `firing_change`, as where the kiln is taken for as long as it takes now.
    """
    made = revision_mend(
        revision=firing.revision, by=by, segments=segments, reason=reason, newest_seen=newest_seen
    )
    return firing_change(firing=firing, changes={"revision": made})
