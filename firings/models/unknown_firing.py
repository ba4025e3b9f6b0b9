"""A kiln that was found running, and nobody had written down what fires in it."""

from datetime import datetime, timedelta

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.record import Firing
from studio.models import Kiln

TAKES_KILN = timedelta(hours=24)
"""For which a kiln counts as taken from the moment at which it was found running: a firing with its
cooling takes about a day. Common practice, no source."""


class UnknownFiring(models.Model):
    """It takes the kiln's time until somebody says which firing it is, or that it is over.

    It is no `Firing`: without a revision there is no plan to compare with, and nothing to learn.
    """

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="unknown_firings")
    seen_at = models.DateTimeField(default=timezone.now)
    seen_c = models.FloatField(
        "the display shows", validators=[MinValueValidator(-20), MaxValueValidator(1400)]
    )
    note = models.CharField(max_length=200, blank=True)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    became = models.OneToOneField(
        Firing, models.CASCADE, null=True, blank=True, related_name="found_running"
    )
    reason = models.CharField("why it needs no firing", max_length=200, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-seen_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kiln"],
                condition=Q(closed_at=None),
                name="one_open_unknown_firing_a_kiln",
            ),
            models.CheckConstraint(
                condition=Q(closed_at=None, closed_by=None, became=None, reason="")
                | Q(closed_at__isnull=False, closed_by__isnull=False, became__isnull=False)
                | (
                    Q(closed_at__isnull=False, closed_by__isnull=False, became=None) & ~Q(reason="")
                ),
                name="a_closed_unknown_firing_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"unknown firing in {self.kiln}, {self.seen_at:%Y-%m-%d %H:%M}"

    def holds_until(self, now: datetime) -> datetime:
        """A kiln that nobody has looked at since is taken now, however long it is."""
        return max(self.seen_at + TAKES_KILN, now)
