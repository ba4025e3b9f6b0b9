"""What the classes of whoever fires allow them."""

from firings.services.class_limits import ClassLimits
from studio.models import Person, Role
from studio.teaching import running_classes_of


def class_limits_of(person: Person) -> list[ClassLimits]:
    """Of a student's running classes; others are bound by none."""
    if person.role != Role.STUDENT:
        return []
    return [
        ClassLimits(
            name=taught.name,
            kilns=frozenset(kiln.pk for kiln in taught.kilns.all()),
            schedules=frozenset(each.schedule_id for each in taught.schedules.all()),
            highest=taught.highest_temperature_c,
        )
        for taught in running_classes_of(person).prefetch_related("kilns", "schedules")
    ]
