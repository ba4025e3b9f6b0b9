from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from firings.models.load import MILLIMETRES, THICKNESS, LoadedPiece, Piece
from schedules.models import Process
from studio.models import GlassKind


class WaitingPiece(models.Model):
    """A piece that waits for a kiln: with what it needs, until it is in a load."""

    piece = models.ForeignKey(Piece, models.CASCADE, related_name="waits")
    process = models.CharField(max_length=16, choices=Process)
    glass = models.ForeignKey(GlassKind, models.PROTECT, related_name="+")
    layers = models.PositiveSmallIntegerField(default=1)
    thickest_mm = models.FloatField("thickest, mm", validators=THICKNESS)
    thinnest_mm = models.FloatField("thinnest, mm", null=True, blank=True, validators=THICKNESS)
    length_mm = models.FloatField("length, mm", null=True, blank=True, validators=MILLIMETRES)
    width_mm = models.FloatField("width, mm", null=True, blank=True, validators=MILLIMETRES)
    wanted = models.CharField("what is wanted", max_length=200, blank=True)
    wanted_by = models.DateField("wanted by", null=True, blank=True)
    since = models.DateTimeField(default=timezone.now, editable=False)
    loaded = models.OneToOneField(
        LoadedPiece, models.SET_NULL, null=True, blank=True, related_name="waited_as"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["since", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece"],
                condition=Q(loaded=None, withdrawn_at=None),
                name="a_piece_waits_once",
                violation_error_message="This piece waits for a kiln already.",
            ),
            models.CheckConstraint(
                condition=Q(thinnest_mm=None) | Q(thinnest_mm__lte=F("thickest_mm")),
                name="waiting_thinnest_not_above_thickest",
                violation_error_message="The thinnest point can't be thicker than the thickest.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece}, waiting for {self.get_process_display()}"
