from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.models import GlassFamily, Kiln, Unit
from studio.models.trail import Trail

LONGEST_HOLD_MINUTES = 10 * 24 * 60  # casting soaks last days


class Process(models.TextChoices):
    FULL_FUSE = "full_fuse", "full fuse"
    CONTOUR_FUSE = "contour_fuse", "contour fuse"
    TACK_FUSE = "tack_fuse", "tack fuse"
    SLUMP = "slump", "slump"
    DRAPE = "drape", "drape"
    DROP_OUT = "drop_out", "drop-out"
    FIRE_POLISH = "fire_polish", "fire polish"
    CAST = "cast", "cast"
    ANNEAL_ONLY = "anneal_only", "anneal only"
    BEAD_ANNEAL = "bead_anneal", "bead anneal"
    METAL_CLAY = "metal_clay", "metal clay sinter"


class Schedule(models.Model):
    """An ordered list of segments for one process, kept as numbered revisions; never deleted."""

    name = models.CharField(max_length=80)
    process = models.CharField(max_length=16, choices=Process)
    family = models.ForeignKey(
        GlassFamily,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="schedules",
        help_text="Leave empty for metal clay.",
    )
    thinnest_mm = models.FloatField(
        "for glass from, mm", validators=[MinValueValidator(0.5), MaxValueValidator(100)]
    )
    thickest_mm = models.FloatField(
        "to, mm", validators=[MinValueValidator(0.5), MaxValueValidator(100)]
    )
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="schedules")
    note = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    archived_at = models.DateTimeField(null=True, editable=False)

    trail = Trail(without=("made_at",))

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(process__in=Process.values), name="known_process"),
            models.CheckConstraint(
                condition=Q(thinnest_mm__lte=F("thickest_mm")),
                name="schedule_thinnest_not_above_thickest",
                violation_error_message="The thinnest glass can't be thicker than the thickest.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Revision(models.Model):
    """One immutable state of a schedule, in the unit in which it was written."""

    schedule = models.ForeignKey(Schedule, models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    unit = models.CharField(max_length=1, choices=Unit, default=Unit.CELSIUS)
    reason = models.CharField(max_length=400)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="revisions")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    copied_from = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="copies"
    )
    written_for = models.ForeignKey(
        Kiln,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="The kiln whose limits and curve it was written by.",
    )

    class Meta:
        ordering = ["schedule_id", "-number"]
        get_latest_by = "number"
        constraints = [
            models.UniqueConstraint(fields=["schedule", "number"], name="one_revision_a_number"),
            models.CheckConstraint(condition=Q(number__gte=1), name="revisions_start_at_1"),
            models.CheckConstraint(
                condition=Q(unit__in=Unit.values), name="revision_written_in_c_or_f"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.schedule}, rev. {self.number}"

    def save(self, *args: object, **kwargs: object) -> None:
        if not self._state.adding:
            raise TypeError("A revision never changes; make the next one.")
        super().save(*args, **kwargs)  # type: ignore[arg-type]


class RevisionSegment(models.Model):
    """A rate to a target, then a hold, exactly as written; no rate is full power."""

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="segments")
    position = models.PositiveSmallIntegerField()
    rate = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal("1800"))],
    )
    target = models.DecimalField(max_digits=6, decimal_places=2)
    hold_minutes = models.PositiveIntegerField(
        default=0, validators=[MaxValueValidator(LONGEST_HOLD_MINUTES)]
    )

    class Meta:
        ordering = ["revision_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "position"], name="one_segment_a_position"),
            models.CheckConstraint(
                condition=Q(rate__isnull=True) | Q(rate__gt=0), name="rate_is_positive"
            ),
            models.CheckConstraint(condition=Q(hold_minutes__gte=0), name="hold_is_not_negative"),
        ]

    def __str__(self) -> str:
        rate = "full power" if self.rate is None else f"{self.rate:g}/h"
        return f"{rate} to {self.target:g}, hold {self.hold_minutes} min"

    def save(self, *args: object, **kwargs: object) -> None:
        if not self._state.adding:
            raise TypeError("A revision's segments never change; make the next revision.")
        super().save(*args, **kwargs)  # type: ignore[arg-type]
