from typing import NoReturn

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from studio.models.glass import GlassForm, GlassKind
from studio.services.stock import Rectangle


class Measure(models.TextChoices):
    """By what a lot is measured; amounts are whole numbers of the step in brackets."""

    AREA = "area", "area"  # mm²
    MASS = "mass", "mass"  # mg
    LENGTH = "length", "length"  # mm
    COUNT = "count", "count"  # pieces


MEASURES_OF_FORM: dict[str, tuple[str, ...]] = {
    GlassForm.SHEET: (Measure.AREA,),
    GlassForm.FRIT: (Measure.MASS,),
    GlassForm.POWDER: (Measure.MASS,),
    GlassForm.BILLET: (Measure.MASS,),
    GlassForm.STRINGER: (Measure.COUNT, Measure.LENGTH),
    GlassForm.ROD: (Measure.COUNT, Measure.LENGTH),
    GlassForm.OTHER: (Measure.COUNT, Measure.MASS),
}


class GlassLot(models.Model):
    """Glass of one kind that came at one time; what is left of it is the sum of its movements.

    `remaining` is that sum, kept beside it by whatever writes a movement.
    """

    kind = models.ForeignKey(GlassKind, models.PROTECT, related_name="lots")
    measure = models.CharField(max_length=8, choices=Measure, editable=False)
    received_on = models.DateField("received on", default=timezone.localdate)
    supplier = models.CharField(max_length=80, blank=True)
    batch = models.CharField(max_length=60, blank=True, help_text="As the maker marks it.")
    place = models.CharField("where it is", max_length=80, blank=True)
    price = models.DecimalField(
        "price of all of it",
        max_digits=12,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
    )
    currency = models.CharField(max_length=3, editable=False)
    received = models.BigIntegerField(editable=False)
    remaining = models.BigIntegerField(default=0, editable=False)

    class Meta:
        ordering = ["received_on", "pk"]
        indexes = [models.Index(fields=["kind", "received_on"], name="lots_first_in")]
        constraints = [
            models.CheckConstraint(condition=Q(remaining__gte=0), name="lot_never_below_nothing"),
            models.CheckConstraint(condition=Q(received__gt=0), name="lot_received_something"),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0), name="lot_price_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"lot {self.pk} of {self.received_on:%d %b %Y}"

    @property
    def is_sheet(self) -> bool:
        return self.measure == Measure.AREA


class StockSize(models.Model):
    """How many pieces of one size are left of a lot of sheet; the sum of its movements, kept."""

    lot = models.ForeignKey(GlassLot, models.PROTECT, related_name="sizes")
    length_mm = models.PositiveIntegerField()
    width_mm = models.PositiveIntegerField()
    pieces = models.PositiveIntegerField()

    class Meta:
        ordering = ["-length_mm", "-width_mm"]
        indexes = [models.Index(fields=["length_mm", "width_mm"], name="sizes_that_hold")]
        constraints = [
            models.UniqueConstraint("lot", "length_mm", "width_mm", name="one_row_a_size"),
            models.CheckConstraint(
                condition=Q(length_mm__gte=models.F("width_mm"), width_mm__gt=0),
                name="size_longer_side_first",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} × {self.length_mm} × {self.width_mm} mm"

    @property
    def rectangle(self) -> Rectangle:
        return Rectangle(self.length_mm, self.width_mm)


class StockMovementQuerySet(models.QuerySet["StockMovement"]):
    def update(self, **kwargs: object) -> NoReturn:
        raise TypeError("A movement never changes; write its counter-movement.")

    def delete(self) -> NoReturn:
        raise TypeError("A movement stays; write its counter-movement.")


class StockMovement(models.Model):
    """One line of the ledger: what came to a lot or went from it. It never changes."""

    class What(models.TextChoices):
        RECEIVED = "received", "received"
        CUT = "cut", "cut for a piece"
        OFFCUT = "offcut", "offcut returned"
        COUNTED = "counted", "counted"
        BROKEN = "broken", "broken"
        SOLD = "sold", "sold"
        TAKEN_BACK = "taken_back", "taken back"

    lot = models.ForeignKey(GlassLot, models.PROTECT, related_name="movements")
    what = models.CharField(max_length=10, choices=What)
    amount = models.BigIntegerField()
    length_mm = models.PositiveIntegerField(null=True, blank=True)
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    pieces = models.BigIntegerField(null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    written_at = models.DateTimeField(default=timezone.now)
    part_of = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="parts")
    takes_back = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="taken_back_by"
    )

    objects = StockMovementQuerySet.as_manager()

    class Meta:
        ordering = ["-written_at", "-pk"]
        indexes = [models.Index(fields=["lot", "-written_at"], name="movements_newest_first")]
        constraints = [
            models.CheckConstraint(
                condition=Q(length_mm=None, width_mm=None, pieces=None)
                | Q(length_mm__isnull=False, width_mm__isnull=False, pieces__isnull=False),
                name="movement_has_all_of_its_size",
            ),
            models.CheckConstraint(
                condition=Q(pieces=None)
                | Q(amount=models.F("length_mm") * models.F("width_mm") * models.F("pieces")),
                name="movement_area_is_its_pieces",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}, {self.written_at:%d %b %Y}"

    def save(self, *args: object, **kwargs: object) -> None:
        if not self._state.adding:
            raise TypeError("A movement never changes; write its counter-movement.")
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def delete(self, *args: object, **kwargs: object) -> NoReturn:
        raise TypeError("A movement stays; write its counter-movement.")

    @property
    def used(self) -> int:
        """What went from the lot, in its step, with what came back in the same act taken off; the
        `parts` come prefetched."""
        return -self.amount - sum(part.amount for part in self.parts.all())

    @property
    def rectangle(self) -> Rectangle | None:
        if self.length_mm is None or self.width_mm is None:
            return None
        return Rectangle(self.length_mm, self.width_mm)


class StockLevel(models.Model):
    """From what a kind counts as low on the shelf, in its measure's step."""

    kind = models.OneToOneField(GlassKind, models.CASCADE, related_name="stock_level")
    low_below = models.BigIntegerField(validators=[MinValueValidator(1), MaxValueValidator(10**15)])

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(low_below__gt=0), name="level_above_nothing")
        ]

    def __str__(self) -> str:
        return f"low below {self.low_below}"
