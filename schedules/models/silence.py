from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from schedules.models.schedule import Schedule


class SilencedRemark(models.Model):
    """A remark that somebody does not want to hear on a schedule any more, as it was then.

    It is kept when it is heard again. Figure and limit are in the core's units of their kind.
    """

    schedule = models.ForeignKey(Schedule, models.CASCADE, related_name="silenced_remarks")
    code = models.CharField(max_length=40)
    position = models.PositiveSmallIntegerField("segment", null=True, blank=True)
    severity = models.CharField(max_length=5)
    figure = models.FloatField(null=True, blank=True)
    limit = models.FloatField(null=True, blank=True)
    reason = models.CharField(max_length=400)
    silenced_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="silenced_remarks"
    )
    silenced_at = models.DateTimeField(default=timezone.now, editable=False)
    heard_again_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    heard_again_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ["schedule_id", "-silenced_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(severity__in=["warn", "note"]), name="what_blocks_is_never_silent"
            ),
            models.CheckConstraint(
                condition=Q(heard_again_at__isnull=True, heard_again_by__isnull=True)
                | Q(heard_again_at__gte=F("silenced_at"), heard_again_by__isnull=False),
                name="heard_again_after_it_was_silenced",
            ),
            models.UniqueConstraint(
                fields=["schedule", "code", "position"],
                condition=Q(heard_again_at__isnull=True, position__isnull=False),
                name="silenced_once_a_segment",
            ),
            models.UniqueConstraint(
                fields=["schedule", "code"],
                condition=Q(heard_again_at__isnull=True, position__isnull=True),
                name="silenced_once_a_schedule",
            ),
        ]

    def __str__(self) -> str:
        where = "" if self.position is None else f", segment {self.position}"
        return f"{self.schedule}: {self.code}{where}"
