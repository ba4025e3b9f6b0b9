from datetime import date
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.models.choices import Unit
from studio.models.trail import Trail


class ChamberShape(models.TextChoices):
    BOX = "box", "rectangular"
    ROUND = "round", "round"
    OVAL = "oval", "oval"
    MANY_SIDED = "many_sided", "many-sided"


class HeatFrom(models.TextChoices):
    TOP = "top", "the top"
    SIDES = "sides", "the sides"
    BOTH = "both", "top and sides"


class FieldOrder(models.TextChoices):
    RAMP_FIRST = "ramp_target_hold", "ramp, target, hold"
    TARGET_FIRST = "target_ramp_hold", "target, ramp, hold"
    HOLD_BEFORE_RAMP = "target_hold_ramp", "target, hold, ramp"


class RampEntry(models.TextChoices):
    RATE = "rate", "a rate (degrees per hour)"
    TIME = "time", "the time to the target"


class HoldFormat(models.TextChoices):
    MINUTES = "minutes", "minutes (90)"
    CLOCK = "h:mm", "hours and minutes (1:30)"
    DOTTED = "h.mm", "hours.minutes (1.30)"


class ThermocoupleType(models.TextChoices):
    K = "K", "K"
    N = "N", "N"
    R = "R", "R"
    S = "S", "S"


class ToleranceClass(models.TextChoices):
    IEC_1 = "iec_1", "IEC 60584 class 1"
    IEC_2 = "iec_2", "IEC 60584 class 2"
    ASTM_SPECIAL = "astm_special", "ASTM E230 special"
    ASTM_STANDARD = "astm_standard", "ASTM E230 standard"


class Kiln(models.Model):
    """A kiln with its controller: what it can do, and how a schedule is keyed into it.

    Temperatures are what its display shows, in °C; `offset_c` is glass minus display.
    """

    name = models.CharField(max_length=60, unique=True)
    place = models.CharField(max_length=80, blank=True, help_text="Where it stands.")
    in_service = models.BooleanField(default=True)

    chamber_shape = models.CharField(max_length=12, choices=ChamberShape, default="box")
    chamber_width_mm = models.PositiveIntegerField(
        "width inside, mm", validators=[MinValueValidator(50), MaxValueValidator(5000)]
    )
    chamber_depth_mm = models.PositiveIntegerField(
        "depth inside, mm", validators=[MinValueValidator(50), MaxValueValidator(5000)]
    )
    chamber_height_mm = models.PositiveIntegerField(
        "height inside, mm", validators=[MinValueValidator(30), MaxValueValidator(3000)]
    )
    heat_from = models.CharField(
        "heat comes from", max_length=8, choices=HeatFrom, default=HeatFrom.TOP
    )
    max_temperature_c = models.FloatField(
        "highest temperature", validators=[MinValueValidator(100), MaxValueValidator(1300)]
    )
    power_kw = models.FloatField(
        "power, kW",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(200)],
    )
    serial_number = models.CharField(max_length=60, blank=True)
    manual_url = models.URLField("link to the manual", blank=True)
    clearance_mm = models.PositiveIntegerField(
        "clearance kept around it, mm",
        null=True,
        blank=True,
        validators=[MaxValueValidator(5000)],
        help_text="From the kiln's plate or manual.",
    )

    controller_segments = models.PositiveSmallIntegerField(
        "segments it takes",
        default=8,
        validators=[MinValueValidator(1), MaxValueValidator(200)],
    )
    controller_unit = models.CharField("its unit", max_length=1, choices=Unit, default="C")
    controller_step = models.DecimalField(
        "smallest step, degrees",
        max_digits=4,
        decimal_places=1,
        default=Decimal("1"),
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(Decimal("10"))],
        help_text="The smallest change of a target that can be keyed, in its own unit.",
    )
    ramp_entry = models.CharField(
        "for a ramp it takes", max_length=4, choices=RampEntry, default=RampEntry.RATE
    )
    field_order = models.CharField(
        "order of its fields", max_length=20, choices=FieldOrder, default=FieldOrder.RAMP_FIRST
    )
    hold_format = models.CharField(
        "writes a hold as", max_length=8, choices=HoldFormat, default=HoldFormat.MINUTES
    )
    longest_hold_minutes = models.PositiveIntegerField(
        "longest hold it takes, minutes", null=True, blank=True, validators=[MinValueValidator(1)]
    )
    full_power_entry = models.CharField(
        "keyed for full power",
        max_length=40,
        blank=True,
        help_text="What its manual says to key for “as fast as it can”.",
    )
    closing_entry = models.CharField(
        "closing entry after the last hold",
        max_length=60,
        blank=True,
        help_text="Leave empty when none is needed.",
    )
    memory_slots = models.PositiveSmallIntegerField(
        "memory slots", null=True, blank=True, validators=[MaxValueValidator(500)]
    )

    thermocouple_type = models.CharField(max_length=1, choices=ThermocoupleType, blank=True)
    thermocouple_class = models.CharField(
        "tolerance class", max_length=16, choices=ToleranceClass, blank=True
    )
    thermocouple_fitted_on = models.DateField("thermocouple fitted on", null=True, blank=True)
    offset_c = models.FloatField(
        "offset, glass minus display",
        default=0.0,
        validators=[MinValueValidator(-40), MaxValueValidator(40)],
        help_text="Positive when the glass gets hotter than the display says; 40 °C at the most.",
    )
    offset_measured_on = models.DateField("offset measured on", null=True, blank=True)
    offset_evidence = models.CharField(
        "evidence for the offset",
        max_length=200,
        blank=True,
        help_text="How it is known, for example “three witness tiles at 804 °C”.",
    )

    full_power_limit_c = models.FloatField(
        "would settle at, on full power for ever",
        default=1250.0,
        validators=[MinValueValidator(300), MaxValueValidator(3000)],
        help_text="An estimate; well above the highest temperature that is allowed.",
    )
    rise_at_700_c_per_h = models.FloatField(
        "rise at 700 °C on full power, °C per hour",
        default=400.0,
        validators=[MinValueValidator(5), MaxValueValidator(6000)],
    )
    cooling_constant_h = models.FloatField(
        "cooling constant above the annealing range, hours",
        default=4.0,
        validators=[MinValueValidator(0.1), MaxValueValidator(200)],
        help_text="Hours in which the difference to the room falls to 37 %, switched off.",
    )
    slow_cooling_constant_h = models.FloatField(
        "the same through the night, hours",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(400)],
        help_text="Below about 370 °C the walls give heat back; often twice the first figure.",
    )
    use_learnt_response = models.BooleanField(
        "use what its recordings taught",
        default=True,
        help_text="Unticked, plans keep to the figures above.",
    )
    repeatability_c = models.FloatField(
        "repeats within",
        default=1.5,
        validators=[MinValueValidator(0.1), MaxValueValidator(20)],
        help_text="How far two like firings differ at the top, as a difference in degrees.",
    )
    note = models.TextField(blank=True)

    trail = Trail()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(max_temperature_c__lte=1300), name="kiln_highest_at_most_1300"
            ),
            models.CheckConstraint(
                condition=Q(offset_c__gte=-40, offset_c__lte=40), name="kiln_offset_within_40"
            ),
            models.CheckConstraint(
                condition=Q(controller_unit__in=Unit.values), name="controller_reads_c_or_f"
            ),
            # Without these two the record has no response at all.
            models.CheckConstraint(
                condition=Q(full_power_limit_c__gt=700, rise_at_700_c_per_h__gt=0),
                name="kiln_rises_at_700",
                violation_error_message="On full power it would settle above 700 °C.",
            ),
            models.CheckConstraint(
                condition=Q(cooling_constant_h__gt=0)
                & (
                    Q(slow_cooling_constant_h__isnull=True)
                    | Q(slow_cooling_constant_h__gte=F("cooling_constant_h"))
                ),
                name="kiln_cools_no_faster_later",
                violation_error_message="The cooling through the night is not the faster one.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def last_service(self, kind: str) -> date | None:
        """The day of the latest entry of that kind in its diary."""
        days = [entry.done_on for entry in self.service_entries.all() if entry.kind == kind]
        return max(days, default=None)

    @property
    def thermocouple_changed_on(self) -> date | None:
        """Since when the thermocouple is in it, by its diary or by its record."""
        known = (self.last_service(ServiceKind.THERMOCOUPLE), self.thermocouple_fitted_on)
        return max((day for day in known if day is not None), default=None)

    @property
    def offset_void_since(self) -> date | None:
        """The day on which a new thermocouple made the offset unproven; None where it stands.

        One that is measured on the day of the change is of the new thermocouple. Of an offset
        without a day, any change in the diary may have come after it.
        """
        measured = self.offset_measured_on
        if measured is not None:
            latest = self.thermocouple_changed_on
            return latest if latest is not None and measured < latest else None
        stands = self.offset_c or self.offset_evidence
        return self.last_service(ServiceKind.THERMOCOUPLE) if stands else None

    @property
    def known_offset_c(self) -> float:
        """The offset as it may be reckoned with: none where a new thermocouple made it void."""
        return 0.0 if not self.offset_c or self.offset_void_since else self.offset_c

    @property
    def is_offset_proven(self) -> bool:
        """Whether somebody measured it, with the thermocouple that is in it now."""
        measured = bool(self.offset_measured_on or self.offset_evidence)
        return measured and self.offset_void_since is None


class ServiceKind(models.TextChoices):
    ELEMENTS = "elements", "elements"
    RELAY = "relay", "relay"
    THERMOCOUPLE = "thermocouple", "thermocouple"
    SHELF_WASH = "shelf_wash", "shelf wash"
    CONTROLLER = "controller", "controller"
    INSPECTION = "inspection", "inspection"
    OTHER = "other", "other"


class ServiceEntry(models.Model):
    """A line in a kiln's service diary."""

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="service_entries")
    kind = models.CharField("what", max_length=12, choices=ServiceKind)
    done_on = models.DateField("on", default=timezone.localdate)
    done_by = models.CharField("by whom", max_length=80, blank=True)
    note = models.CharField(max_length=400, blank=True)
    written_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    trail = Trail(part_of="kiln")

    class Meta:
        ordering = ["-done_on", "-pk"]
        verbose_name_plural = "service entries"

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.done_on:%d %b %Y}"


class ShelfPlace(models.Model):
    """A named place on a kiln's shelf, seen from the front: x from the left, y from the back."""

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="places")
    name = models.CharField(max_length=40)
    x_percent = models.PositiveSmallIntegerField(
        "from the left, %", validators=[MaxValueValidator(100)]
    )
    y_percent = models.PositiveSmallIntegerField(
        "from the back, %", validators=[MaxValueValidator(100)]
    )
    is_reference = models.BooleanField(
        "reference place",
        default=False,
        help_text="The place by which a schedule is tuned; one a kiln.",
    )

    trail = Trail(part_of="kiln")

    class Meta:
        ordering = ["y_percent", "x_percent"]
        constraints = [
            models.UniqueConstraint(fields=["kiln", "name"], name="one_place_a_name"),
            models.UniqueConstraint(
                fields=["kiln"], condition=Q(is_reference=True), name="one_reference_place"
            ),
            models.CheckConstraint(
                condition=Q(x_percent__lte=100, y_percent__lte=100), name="place_on_the_shelf"
            ),
        ]

    def __str__(self) -> str:
        return self.name
