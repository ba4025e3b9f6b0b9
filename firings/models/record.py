from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.utils import timezone

from schedules.models import Revision
from studio.models import Kiln
from studio.models.trail import Trail


class FiringState(models.TextChoices):
    PLANNED = "planned", "planned"
    FIRING = "firing", "firing"
    OPENED = "opened", "opened"
    CALLED_OFF = "called_off", "called off"


class AlsoChanged(models.TextChoices):
    """What else differed from the last firing, so that the result is not credited to the peak."""

    GLASS_BATCH = "glass_batch", "glass batch"
    SHELF_COAT = "shelf_coat", "shelf coat or paper"
    MOULD = "mould", "mould"
    PLACE = "place", "place on the shelf"
    THICKNESS = "thickness", "thickness or lay-up"
    OTHER = "other", "something else"


WHEN = Coalesce("started_at", "planned_start", "made_at")
"""When a firing belongs in a list: at its start, failing that the planned one. It is indexed."""


class Firing(models.Model):
    """One run of one revision in one kiln. Temperatures are what its display showed, in °C."""

    title = models.CharField(max_length=120, blank=True, help_text="What you will look for later.")
    kiln = models.ForeignKey(Kiln, models.PROTECT, related_name="firings")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="firings")
    fired_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="firings")
    written_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    state = models.CharField(max_length=12, choices=FiringState, default=FiringState.PLANNED)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    planned_start = models.DateTimeField(null=True, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    opened_temperature_c = models.FloatField(
        "opened at", null=True, blank=True, validators=[MinValueValidator(-20)]
    )
    called_off_at = models.DateTimeField(null=True, blank=True)
    called_off_reason = models.CharField(max_length=200, blank=True)

    recorded_peak_c = models.FloatField(
        "recorded peak",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1400)],
    )
    recorded_hold_s = models.PositiveIntegerField("recorded hold at the top", null=True, blank=True)
    recorded_duration_s = models.PositiveIntegerField(
        "recorded duration",
        null=True,
        blank=True,
        help_text="From the start to the end of the last segment.",
    )
    room_temperature_c = models.FloatField(
        "room temperature",
        null=True,
        blank=True,
        validators=[MinValueValidator(-20), MaxValueValidator(60)],
    )
    energy_kwh = models.DecimalField(
        "energy by the meter, kWh",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    also_changed = models.JSONField("what else changed", default=list, blank=True)
    also_changed_note = models.CharField("in words", max_length=200, blank=True)
    notes = models.TextField(blank=True)
    is_private = models.BooleanField(
        "keep its pieces and photographs to myself",
        default=False,
        help_text="The logbook still shows who fired what, when and where.",
    )

    trail = Trail(without=("made_at",))

    class Meta:
        ordering = [F("started_at").desc(nulls_first=True), "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=FiringState.values), name="known_firing_state"
            ),
            models.CheckConstraint(
                condition=~Q(state__in=["firing", "opened"]) | Q(started_at__isnull=False),
                name="a_started_firing_has_a_start",
            ),
            models.CheckConstraint(
                condition=~Q(state="opened") | Q(opened_at__isnull=False),
                name="an_opened_firing_has_an_opening",
            ),
            models.CheckConstraint(
                condition=Q(opened_at__isnull=True) | Q(opened_at__gt=F("started_at")),
                name="opened_after_its_start",
                violation_error_message="A kiln can't be opened before its firing started.",
            ),
            models.CheckConstraint(
                condition=~Q(state="called_off") | Q(started_at__isnull=True),
                name="called_off_only_before_its_start",
            ),
            models.UniqueConstraint(
                fields=["kiln"],
                condition=Q(state="firing"),
                name="one_running_firing_a_kiln",
                violation_error_message="Another firing is running in this kiln.",
            ),
        ]
        indexes = [
            models.Index(fields=["kiln", "started_at"]),
            models.Index(WHEN.desc(), F("id").desc(), name="firings_newest_first"),
        ]

    def __str__(self) -> str:
        return f"Firing {self.pk}" + (f", {self.title}" if self.title else "")

    @property
    def is_brought_in(self) -> bool:
        """Never logged here, but brought in with a list; select `brought` with many firings."""
        return hasattr(self, "brought")

    @property
    def knows_time(self) -> bool:
        """Of its start; of some that are brought in only the day is known."""
        brought = getattr(self, "brought", None)
        return brought is None or bool(brought.knows_time)


class KeyedPart(models.TextChoices):
    RATE = "rate", "rate"
    TARGET = "target", "target"
    HOLD = "hold", "hold"


class KeyedDifference(models.Model):
    """One number that was keyed otherwise than its revision says, in the revision's unit.

    For a hold the value is in minutes; a rate without a value is full power.
    """

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="keyed_differences")
    position = models.PositiveSmallIntegerField("segment")
    part = models.CharField(max_length=6, choices=KeyedPart)
    value = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)

    trail = Trail(part_of="firing")

    class Meta:
        ordering = ["position", "part"]
        constraints = [
            models.UniqueConstraint(
                fields=["firing", "position", "part"], name="one_keyed_value_a_number"
            ),
            models.CheckConstraint(
                condition=Q(part="rate") | Q(value__isnull=False), name="keyed_value_given"
            ),
        ]

    def __str__(self) -> str:
        return f"segment {self.position}: {self.part} {self.value}"


class EventKind(models.TextChoices):
    VENTED = "vented", "vented"
    WENT_ON_EARLY = "went_on_early", "went on early to the next segment"
    STOPPED_EARLY = "stopped_early", "stopped early"
    POWER_CUT = "power_cut", "power cut"
    OTHER = "other", "something else"


class FiringEvent(models.Model):
    firing = models.ForeignKey(Firing, models.CASCADE, related_name="events")
    kind = models.CharField("what", max_length=16, choices=EventKind)
    happened_at = models.DateTimeField("when", default=timezone.now)
    minutes = models.PositiveIntegerField("for how long, minutes", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    trail = Trail(part_of="firing")

    class Meta:
        ordering = ["happened_at", "pk"]

    def __str__(self) -> str:
        return self.get_kind_display()
