"""What this app adds to trails; read by `studio.trails`. A revision never changes."""

from typing import Any

from django.db.models import Q

from schedules.models import ClassSchedule, Schedule
from studio.models import TeachingClass
from studio.trail_parts import CLASS_PARTS
from studio.trails import TrailOf, TrailPart, itself, named_by, trail_of


def _of_class(person: Any, teaching_class: Any) -> Q:
    return Q(teaching_class=teaching_class)


named_by(Schedule, "name")
trail_of(
    "schedule",
    TrailOf(
        Schedule,
        "schedule.see",
        "schedules:schedule_detail",
        "schedules",
        (TrailPart(Schedule, itself),),
    ),
)
trail_of(
    "class",
    TrailOf(
        TeachingClass,
        "class.see",
        "studio:class_detail",
        "people",
        (*CLASS_PARTS, TrailPart(ClassSchedule, _of_class, "schedule", ("schedule",))),
    ),
)
