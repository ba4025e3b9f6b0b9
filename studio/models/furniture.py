"""Moulds and kiln shelves as things: each with its coats of separator."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from studio.models.kiln import Kiln
from studio.models.trail import Trail


class Mould(models.TextChoices):
    """What a piece lies on or in."""

    SHELF = "shelf", "the shelf"
    CERAMIC = "ceramic", "a ceramic mould"
    STEEL = "steel", "a steel mould"
    PLASTER_SILICA = "plaster_silica", "a plaster–silica mould"
    FIBRE = "fibre", "fibre, board or paper"


class KilnFurniture(models.Model):
    """A mould, or a kiln shelf. A shelf may belong to one kiln; a mould goes where it fits."""

    name = models.CharField(max_length=80, unique=True, help_text="As “Shallow bowl, 300”.")
    material = models.CharField("what it is", max_length=16, choices=Mould, default=Mould.CERAMIC)
    kiln = models.ForeignKey(
        Kiln, models.PROTECT, null=True, blank=True, related_name="furniture", verbose_name="kiln"
    )
    damage = models.CharField(
        max_length=200, blank=True, help_text="A chip, a crack, a warp: what to look at first."
    )
    note = models.TextField(blank=True, help_text="Size, depth, holes, who made it.")
    archived_at = models.DateTimeField(null=True, blank=True, editable=False)

    trail = Trail()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_shelf(self) -> bool:
        return self.material == Mould.SHELF


class FurnitureCoat(models.Model):
    """A time at which it was coated anew; what was left of the coat before was taken off."""

    furniture = models.ForeignKey(KilnFurniture, models.CASCADE, related_name="coated")
    coated_at = models.DateTimeField("coated", default=timezone.now)
    coats = models.PositiveSmallIntegerField(
        default=5,
        validators=[MinValueValidator(1), MaxValueValidator(20)],
        help_text="Of kiln wash 4 to 6 are usual; 1 for paper.",
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-coated_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.furniture}, {self.coats} coats of {self.coated_at:%d %b %Y}"
