from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import Piece


class StayEnd(models.TextChoices):
    """How a piece left the storage shelf."""

    COLLECTED = "collected", "collected"
    FIRED_AGAIN = "fired_again", "fired again"
    HANDED_OVER = "handed_over", "handed over"
    BROKEN = "broken", "broken"
    DISCARDED = "discarded", "discarded"


class StoredPiece(models.Model):
    """A finished piece on a storage shelf, until somebody collects it or it goes otherwise."""

    piece = models.ForeignKey(Piece, models.CASCADE, related_name="stays")
    place = models.CharField("where it lies", max_length=80)
    keep_until = models.DateField("kept until", null=True, blank=True)
    stored_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    stored_at = models.DateTimeField(default=timezone.now, editable=False)
    ended_how = models.CharField("how it went", max_length=12, choices=StayEnd, blank=True)
    ended_at = models.DateTimeField(null=True, editable=False)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    to_whom = models.CharField("by whom, or to whom", max_length=80, blank=True)

    class Meta:
        ordering = ["keep_until", "stored_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"], condition=Q(ended_at=None), name="a_piece_lies_in_one_place"
            ),
            models.CheckConstraint(
                condition=Q(ended_at=None, ended_how="", ended_by=None)
                | Q(ended_at__isnull=False, ended_by__isnull=False, ended_how__in=StayEnd.values),
                name="stay_ended_by_somebody_somehow",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece} at {self.place}"
