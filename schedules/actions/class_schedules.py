from collections.abc import Collection

from django.db import transaction

from schedules.models import ClassSchedule, Schedule
from studio.models import TeachingClass


@transaction.atomic
def class_schedules_choose(
    *, teaching_class: TeachingClass, schedules: Collection[Schedule]
) -> TeachingClass:
    """The class with exactly these schedules to fire; none lets it fire all of them."""
    TeachingClass.objects.select_for_update().get(pk=teaching_class.pk)
    ClassSchedule.objects.filter(teaching_class=teaching_class).exclude(
        schedule__in=schedules
    ).delete()
    for schedule in schedules:
        ClassSchedule.objects.get_or_create(teaching_class=teaching_class, schedule=schedule)
    return teaching_class
