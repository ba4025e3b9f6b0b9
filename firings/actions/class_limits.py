"""Refuses what a student plans beyond what their class may fire."""

from django.core.exceptions import ValidationError

from firings.models import Firing
from firings.queries.class_limits import class_limits_of
from firings.services.class_limits import nearest_refusal
from schedules.core_inputs import core_segments
from studio import formats
from studio.models import Person


def refuse_outside_class(firing: Firing) -> None:
    """Raises `ValidationError` at the fields of a firing that no class of its student allows."""
    limits = class_limits_of(firing.fired_by)
    if not limits:
        return
    revision = firing.revision
    found = nearest_refusal(
        limits,
        kiln=firing.kiln_id,
        schedule=revision.schedule_id,
        peak=max(segment.target for segment in core_segments(revision)),
    )
    if found is None:
        return
    limit, parts = found
    params = {"name": limit.name, "highest": _highest(limit.highest, firing.fired_by)}
    raise ValidationError(
        {
            "kiln" if part == "kiln" else "revision": ValidationError(WORDS[part], params=params)
            for part in parts
        }
    )


WORDS = {
    "kiln": "The class “%(name)s” doesn’t use this kiln.",
    "schedule": "The class “%(name)s” doesn’t fire this schedule.",
    "temperature": "It goes above %(highest)s, the most that the class “%(name)s” may fire.",
}


def _highest(highest: float | None, reader: Person) -> str:
    return "" if highest is None else formats.temperature(highest, reader.unit)
