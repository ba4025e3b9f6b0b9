from pathlib import PurePath
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import LoadedPiece
from firings.models.photograph import Photograph
from firings.services.shelf_spots import LARGEST, SMALLEST, Spot
from studio.models.trail import Trail


def crop_path(spot: "PieceSpot", filename: str) -> str:
    return f"{spot.photograph.firing_id}/{uuid4().hex}.jpg"


class PieceSpot(models.Model):
    """Where a piece lies on a photograph of its shelf, and the crop that shows it.

    `x` and `y` are of the picture's width, from the left, and of its height, from the top;
    `half_width` is of its width. One that is proposed was taken over from an earlier photograph,
    and nobody has looked yet whether it fits.
    """

    photograph = models.ForeignKey(Photograph, models.CASCADE, related_name="spots")
    loaded_piece = models.ForeignKey(LoadedPiece, models.CASCADE, related_name="spots")
    x = models.FloatField("from the left")
    y = models.FloatField("from the top")
    half_width = models.FloatField("half of its size")
    is_proposed = models.BooleanField("taken over, not looked at", default=False)
    crop = models.FileField(upload_to=crop_path, editable=False)
    crop_width = models.PositiveIntegerField(editable=False)
    crop_height = models.PositiveIntegerField(editable=False)
    put_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    put_at = models.DateTimeField(default=timezone.now, editable=False)

    trail = Trail(
        part_of="loaded_piece",
        without=("photograph", "crop", "crop_width", "crop_height", "put_by", "put_at"),
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["photograph", "loaded_piece"], name="a_piece_once_a_photograph"
            ),
            models.CheckConstraint(
                condition=Q(x__range=(0, 1), y__range=(0, 1)), name="spot_on_the_photograph"
            ),
            models.CheckConstraint(
                condition=Q(half_width__range=(SMALLEST, LARGEST)), name="spot_of_a_sensible_size"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.loaded_piece.piece} on photograph {self.photograph_id}"

    @property
    def spot(self) -> Spot:
        return Spot(self.x, self.y, self.half_width)

    @property
    def cut(self) -> str:
        """Names this crop in its address; after the spot was moved it is another one."""
        return PurePath(self.crop.name or "").stem
