from django.db import models

from schedules.models.schedule import Schedule
from studio.models import TeachingClass
from studio.models.trail import Trail


class ClassSchedule(models.Model):
    """A schedule that a class may fire; a class without any may fire them all."""

    teaching_class = models.ForeignKey(TeachingClass, models.CASCADE, related_name="schedules")
    schedule = models.ForeignKey(Schedule, models.CASCADE, related_name="classes")

    trail = Trail(part_of="teaching_class")

    class Meta:
        ordering = ["schedule__name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["teaching_class", "schedule"], name="a_schedule_once_a_class"
            )
        ]

    def __str__(self) -> str:
        return f"{self.schedule} for {self.teaching_class}"
