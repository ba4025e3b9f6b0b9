"""A few changes of the demo's year, so that trails have something to show. All is invented."""

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Model

from firings.models import Comment, Firing, FiringState, LoadedPiece
from studio.models import Kiln, Person, Studio
from studio.models.trail import AS_IT_STOOD, records_of


def trails_make(*, people: dict[str, Person], kilns: dict[str, Kiln], now: datetime) -> None:
    mads, inka = people["mads"], people["inka"]
    wren = kilns["Wren"]
    measured_on = now - timedelta(days=80)
    changed(wren, mads, measured_on, offset_c=0.0, offset_evidence="", offset_measured_on=None)
    changed(people["wilf"], mads, now - timedelta(days=200), role="student")
    changed(Studio.current(), mads, now - timedelta(days=150), largest_peak_step_c=5.0)
    judged = (
        LoadedPiece.objects.filter(
            verdict=0, firing__state=FiringState.OPENED, firing__fired_by=inka
        )
        .select_related("firing")
        .latest("firing__started_at")
    )
    seen_again_at = min(judged.firing.opened_at or now, now) + timedelta(hours=2)
    changed(judged, inka, min(seen_again_at, now), verdict=1, remarks="")
    firing: Firing = judged.firing
    for hasty in Comment.objects.exclude(taken_back_at=None):
        changed(hasty, hasty.said_by, hasty.taken_back_at or now, taken_back_at=None)
    changed(firing, inka, min(seen_again_at, now), notes="", room_temperature_c=None)


def changed(row: Model, by: Person, at: datetime, **before: Any) -> None:
    """What a row is now came about at that moment; before, it was this."""
    records: Any = records_of(type(row))
    row.refresh_from_db()
    now = {field.attname: getattr(row, field.attname) for field in records.tracked_fields}
    records.objects.bulk_create(
        [
            records(
                history_date=at - timedelta(seconds=1),
                history_type="+",
                history_change_reason=AS_IT_STOOD,
                **(now | before),
            ),
            records(history_date=at, history_type="~", history_user=by, **now),
        ]
    )
