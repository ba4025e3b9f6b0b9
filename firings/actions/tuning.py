"""Takes a next-time note: it becomes the next revision of its schedule."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from firings.actions.forecasting import forecast_of
from firings.models import Firing, NoteTaken
from firings.queries.tuning import NextTimeNote, next_time_note
from firings.services.top import find_top
from schedules.actions.revision import MovedOnError, revision_make
from schedules.core_inputs import written_segments
from schedules.models import Schedule
from schedules.services.writing import WrittenSegment, to_core
from studio.models import Person, Studio
from studio.services.units import rate_from_celsius

CENT = Decimal("0.01")


@transaction.atomic
def note_take(
    *,
    firing: Firing,
    by: Person,
    studio: Studio,
    newest_seen: int,
    size_seen: str,
    at: datetime | None = None,
) -> NoteTaken:
    """The next revision, as the note of a firing advises, with the note as its reason.

    The schedule's row is locked: a note that was taken already, by the same form or by somebody
    else, is given back as it is. `newest_seen` and `size_seen` say what the taker read,
    and `at` when, where that is not now.

    Raises `MovedOnError` where there is a newer revision, and `ValidationError` where the note has
    changed since, because a verdict or a firing was added.
    """
    schedule = Schedule.objects.select_for_update().get(pk=firing.revision.schedule_id)
    taken = (
        NoteTaken.objects.filter(firing=firing)
        .select_related("revision__schedule", "taken_by")
        .first()
    )
    if taken is not None:
        return taken
    note = next_time_note(schedule, firing.kiln, studio, at, reader=by)
    if note.newest.number != newest_seen:
        raise MovedOnError(note.newest)
    if note.advice.action != "change" or note.size != size_seen:
        raise ValidationError(
            "The note reads differently now: a firing or a verdict was added. Look at it again.",
            code="note_changed",
        )
    revision = revision_make(
        schedule=schedule,
        by=by,
        segments=_segments_then(note),
        unit=note.newest.unit,
        reason=note_in_words(note, firing),
        copied_from=note.newest,
        written_for=firing.kiln,
        newest_seen=newest_seen,
    )
    taken = NoteTaken(
        firing=firing,
        revision=revision,
        forecast=forecast_of(note=note, firing=firing, at=at),
        taken_by=by,
        taken_at=at or timezone.now(),
    )
    taken.full_clean()
    taken.save()
    return taken


def note_in_words(note: NextTimeNote, firing: Firing) -> str:
    """One sentence, in the unit in which the revision is written."""
    context = {"note": note, "firing": firing, "unit": note.newest.unit}
    return render_to_string("firings/note_reason.txt", context).strip()


def _segments_then(note: NextTimeNote) -> Sequence[WrittenSegment]:
    """The newest revision with its top changed in its own unit; every other number as written."""
    written = written_segments(note.newest)
    unit = note.newest.unit
    index = find_top(to_core(written, unit)).index
    top = written[index]
    change = Decimal(rate_from_celsius(note.advice.peak_change, unit)).quantize(CENT)
    written[index] = WrittenSegment(
        top.rate,
        top.target + change,
        top.hold_minutes + round(note.advice.hold_change / 60),
    )
    return written
