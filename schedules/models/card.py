from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils import timezone

from schedules.models.schedule import Schedule


def card_path(card: "ScheduleCard", filename: str) -> str:
    return f"cards/{card.schedule_id}/{uuid4().hex}.jpg"


class ScheduleCard(models.Model):
    """The photograph of an old card, from which a schedule's revision 1 was keyed.

    It is kept once and never changed, as the revision is.
    """

    schedule = models.OneToOneField(Schedule, models.CASCADE, primary_key=True, related_name="card")
    picture = models.FileField(upload_to=card_path, editable=False)
    small = models.FileField(upload_to=card_path, editable=False)
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"card of {self.schedule}"
