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


class PhotographsOfRecord(models.Manager["Photograph"]):
    """Those of the load and its pieces, without those that belong to a comment."""

    def get_queryset(self) -> models.QuerySet["Photograph"]:
        return super().get_queryset().filter(in_conversation=False)


class Photograph(models.Model):
    """A photograph of a load or a piece: upright, without its location, with a small size.

    One that was sent with a comment is read by those who read the comment, and stands nowhere
    else: `objects`, and so `firing.photographs`, leave it out.
    """

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
    in_conversation = models.BooleanField(default=False, editable=False)
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    objects = PhotographsOfRecord()
    everywhere = models.Manager["Photograph"]()
    trail = Trail(
        part_of="firing",
        without=("picture", "small", "width", "height", "digest", "added_at"),
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firing", "digest", "in_conversation"],
                name="a_photograph_once_in_a_record_or_conversation",
            )
        ]

    def __str__(self) -> str:
        return self.caption or f"{self.get_moment_display()}, firing {self.firing_id}"
