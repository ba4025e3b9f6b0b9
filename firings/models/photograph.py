from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils import timezone

from firings.models.load import LoadedPiece
from firings.models.record import Firing
from studio.models.trail import Trail


class Moment(models.TextChoices):
    BEFORE = "before", "before"
    LOADED = "loaded", "loaded"
    AFTER = "after", "after"


def photograph_path(photograph: "Photograph", filename: str) -> str:
    return f"{photograph.firing_id}/{uuid4().hex}.jpg"


class Photograph(models.Model):
    """A photograph of a load or a piece: upright, without its location, with a small size."""

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="photographs")
    loaded_piece = models.ForeignKey(
        LoadedPiece, models.SET_NULL, null=True, blank=True, related_name="photographs"
    )
    moment = models.CharField(max_length=8, choices=Moment, default=Moment.AFTER)
    caption = models.CharField(max_length=120, blank=True)
    picture = models.FileField(upload_to=photograph_path, editable=False)
    small = models.FileField(upload_to=photograph_path, editable=False)
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    digest = models.CharField(max_length=64, editable=False)
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    trail = Trail(
        part_of="firing",
        without=("picture", "small", "width", "height", "digest", "added_at"),
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["firing", "digest"], name="a_photograph_once_a_firing")
        ]

    def __str__(self) -> str:
        return self.caption or f"{self.get_moment_display()}, firing {self.firing_id}"
