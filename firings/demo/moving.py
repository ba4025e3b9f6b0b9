"""The demo's slump, moved to the kiln in which the next bowl is planned."""

from datetime import datetime, timedelta

from firings.actions.to_kiln import revision_move
from firings.queries.to_kiln import to_kiln
from firings.queries.tuning import newest_revision
from schedules.models import Revision, Schedule
from studio.models import Kiln, Person, Studio


def move_newest(
    *,
    schedule: Schedule,
    from_kiln: Kiln,
    to: Kiln,
    by: Person,
    studio: Studio,
    at: datetime,
) -> Revision:
    """The newest revision as it becomes in another kiln, kept as the site itself works it out."""
    newest = newest_revision(schedule)
    moved = to_kiln(newest, studio, reader=by, from_kiln=from_kiln, to_kiln=to)
    made = revision_move(
        moved=moved, by=by, reason=moved.reason, seen=moved.seen, newest_seen=newest.number
    )
    Revision.objects.filter(pk=made.pk).update(made_at=at - timedelta(days=1))
    return made
