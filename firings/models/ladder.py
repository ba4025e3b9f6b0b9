"""A test series: one schedule in one kiln at stepped peaks or holds, each rung its own firing."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import THICKNESS, LoadedPiece
from schedules.models import Revision, Schedule
from studio.formats import DEGREE, NO_BREAK, hold, number
from studio.models import GlassKind, HasCode, Kiln, ShelfPlace, Unit
from studio.models.trail import Trail
from studio.services.units import to_celsius


class Varies(models.TextChoices):
    PEAK = "peak", "the peak"
    HOLD = "hold", "the hold at the top"


class Ladder(models.Model):
    """What a test series asks, and of what its tiles are; its rungs are evenly stepped.

    `first` and `step` are as written: degrees of `unit` where the peak varies, else minutes.
    """

    schedule = models.ForeignKey(Schedule, models.PROTECT, related_name="ladders")
    kiln = models.ForeignKey(Kiln, models.PROTECT, related_name="+")
    name = models.CharField(max_length=80, help_text="Stands on each tile, as “opal tack”.")
    reason = models.CharField("what it is to find", max_length=200)
    glass = models.ForeignKey(GlassKind, models.PROTECT, null=True, blank=True, related_name="+")
    thickest_mm = models.FloatField("a tile is thick, mm", validators=THICKNESS)
    place = models.ForeignKey(
        ShelfPlace, models.SET_NULL, null=True, blank=True, related_name="+", verbose_name="lies at"
    )
    varies = models.CharField("what varies", max_length=4, choices=Varies)
    unit = models.CharField(max_length=1, choices=Unit)
    first = models.DecimalField("from", max_digits=7, decimal_places=2)
    step = models.DecimalField(
        max_digits=6, decimal_places=2, validators=[MinValueValidator(Decimal("0.01"))]
    )
    begun_from = models.ForeignKey(Revision, models.PROTECT, related_name="+", editable=False)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    closed_at = models.DateTimeField("closed", null=True, editable=False)

    trail = Trail(part_of="schedule", without=("made_at",))

    class Meta:
        ordering = [models.F("closed_at").desc(nulls_first=True), "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(varies__in=Varies.values), name="a_ladder_varies_peak_or_hold"
            ),
            models.CheckConstraint(condition=Q(step__gt=0), name="a_ladder_steps_up"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def varies_peak(self) -> bool:
        return self.varies == Varies.PEAK

    def in_words(self, value: Decimal) -> str:
        """A rung's value as written: “797 °C”, “15 min”."""
        if self.varies_peak:
            return f"{number(float(value), 2)}{NO_BREAK}{DEGREE[self.unit]}"
        return hold(float(value))


class Rung(HasCode):
    """One tile of a series: its revision, and the tile in the load once its firing is planned.

    Its code stands on the tile's label.
    """

    ladder = models.ForeignKey(Ladder, models.CASCADE, related_name="rungs")
    number = models.PositiveSmallIntegerField()
    value = models.DecimalField(max_digits=7, decimal_places=2)
    revision = models.OneToOneField(Revision, models.PROTECT, related_name="rung")
    loaded = models.OneToOneField(
        LoadedPiece, models.SET_NULL, null=True, blank=True, related_name="rung"
    )

    class Meta:
        ordering = ["ladder_id", "number"]
        constraints = [
            models.UniqueConstraint(fields=["ladder", "number"], name="one_rung_a_number")
        ]

    def __str__(self) -> str:
        return f"{self.ladder}, rung {self.number}"

    @property
    def peak_c(self) -> float:
        """Of a rung whose peak varies."""
        return float(to_celsius(float(self.value), self.ladder.unit))

    @property
    def words(self) -> str:
        return self.ladder.in_words(self.value)
