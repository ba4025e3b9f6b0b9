from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import LoadedPiece
from studio.models import GlassKind, StockMovement
from studio.services.stock import Rectangle


class GlassUse(models.Model):
    """Glass of one kind that a loaded piece took off the shelf; the ledger's lines say how much.

    `by_layers` is what follows from the piece's own facts and is taken anew when they change.
    Sheet has the size of a layer and how many; what is no sheet has neither.
    """

    loaded_piece = models.ForeignKey(LoadedPiece, models.CASCADE, related_name="glass_uses")
    kind = models.ForeignKey(GlassKind, models.PROTECT, related_name="+")
    by_layers = models.BooleanField(default=False, editable=False)
    length_mm = models.PositiveIntegerField(null=True, blank=True)
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    layers = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(40)]
    )
    movements = models.ManyToManyField(StockMovement, related_name="glass_uses")
    taken_at = models.DateTimeField(default=timezone.now, editable=False)
    given_back_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["loaded_piece"],
                condition=Q(by_layers=True, given_back_at=None),
                name="one_use_by_layers_a_piece",
            ),
            models.CheckConstraint(
                condition=Q(length_mm=None, width_mm=None, layers=None)
                | Q(length_mm__isnull=False, width_mm__isnull=False, layers__gt=0),
                name="use_has_all_of_its_size",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} for {self.loaded_piece_id}"

    @property
    def size(self) -> Rectangle | None:
        if self.length_mm is None or self.width_mm is None:
            return None
        return Rectangle(self.length_mm, self.width_mm)
