from django.conf import settings
from django.db import models
from django.utils import timezone

from firings.models.forecast import Forecast
from firings.models.record import Firing
from schedules.models import Revision


class NoteTaken(models.Model):
    """A next-time note that somebody took; what it said is its forecast."""

    firing = models.OneToOneField(Firing, models.PROTECT, related_name="note_taken")
    revision = models.OneToOneField(Revision, models.PROTECT, related_name="note_taken")
    forecast = models.OneToOneField(Forecast, models.PROTECT, related_name="note_taken")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    taken_at = models.DateTimeField(default=timezone.now, editable=False)

    def __str__(self) -> str:
        return f"note of firing {self.firing_id} → {self.revision}"
