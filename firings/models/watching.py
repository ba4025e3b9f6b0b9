from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.record import Firing


class AlarmAnswer(models.TextChoices):
    """What somebody found who went to a kiln that seemed to run away."""

    SWITCHED_OFF = "switched_off", "it is switched off"
    MISREAD = "misread", "the reading was wrong"


class RunawayAlarm(models.Model):
    """A kiln that showed more than it ought to and still climbed; it stands on every page until
    somebody answers. The temperatures are of the reading that raised it, the latest one.
    """

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="runaway_alarms")
    raised_at = models.DateTimeField(default=timezone.now, editable=False)
    shown_at = models.DateTimeField()
    shown_c = models.FloatField()
    ceiling_c = models.FloatField()
    answer = models.CharField(max_length=12, choices=AlarmAnswer, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-raised_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firing"],
                condition=Q(answered_at=None),
                name="one_open_runaway_alarm_a_firing",
            ),
            models.CheckConstraint(
                condition=Q(answer="", answered_at=None, answered_by=None)
                | Q(
                    answer__in=AlarmAnswer.values,
                    answered_at__isnull=False,
                    answered_by__isnull=False,
                ),
                name="an_answered_runaway_alarm_has_all_of_it",
            ),
        ]

    def __str__(self) -> str:
        return f"runaway alarm of firing {self.firing_id}"
