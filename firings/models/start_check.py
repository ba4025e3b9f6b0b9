from django.conf import settings
from django.db import models
from django.utils import timezone

from firings.models.record import Firing
from studio.models.safety import LONGEST_LINE


class StartCheck(models.Model):
    """A line of the studio's list as it stood when a firing was started, ticked or not, by whom."""

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="start_checks")
    position = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=LONGEST_LINE)
    is_ticked = models.BooleanField()
    looked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    looked_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["firing", "position"], name="one_check_a_line")
        ]

    def __str__(self) -> str:
        return f"{'ticked' if self.is_ticked else 'not ticked'}: {self.text}"
