from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import LoadedPiece
from firings.models.record import Firing


class ClearingDecision(models.TextChoices):
    CLEARED = "cleared", "cleared"
    RETURNED = "returned", "returned"
    OVERRIDDEN = "overridden", "let go without clearing"
    FOUND = "found", "found running, not cleared"


class Clearing(models.Model):
    """What an instructor decided of a planned firing, beside it: the latest one counts.

    `seen` is a digest of what was looked at: revision, what is keyed otherwise, kiln and load. A
    change after it needs clearing again. A comment can stand at a segment or at a piece. What was
    found running uncleared is noted here too, by whoever said what it is.
    """

    firing = models.ForeignKey(Firing, models.PROTECT, related_name="clearings")
    decision = models.CharField(max_length=12, choices=ClearingDecision)
    seen = models.CharField(max_length=64, editable=False)
    comment = models.TextField(blank=True)
    segment = models.PositiveSmallIntegerField(null=True, blank=True)
    loaded_piece = models.ForeignKey(
        LoadedPiece, models.SET_NULL, null=True, blank=True, related_name="clearings"
    )
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    decided_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-decided_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(decision__in=ClearingDecision.values), name="known_clearing_decision"
            ),
            models.CheckConstraint(
                condition=Q(decision="cleared") | ~Q(comment=""),
                name="a_return_or_an_override_says_why",
                violation_error_message="Say why: it stays with the firing.",
            ),
        ]

    def __str__(self) -> str:
        return f"firing {self.firing_id} {self.get_decision_display()}"
