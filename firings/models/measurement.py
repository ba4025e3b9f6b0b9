from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.record import Firing
from studio.models import GlassFamily, Kiln, ShelfPlace
from studio.models.trail import Trail


class Means(models.TextChoices):
    THERMOMETER = "thermometer", "a second thermometer"
    TILES = "tiles", "witness tiles"
    STRIPS = "strips", "strips over a gap"


class TileState(models.IntegerChoices):
    """How far a witness tile went; its own scale is that of the verdicts."""

    WELL_SHORT = -2, "well short"
    SHORT = -1, "a touch short"
    AS_MEANT = 0, "as it is meant to"
    FAR = 1, "a touch far"
    WELL_PAST = 2, "well past"


class KilnMeasurement(models.Model):
    """What somebody measured in a kiln at one time, at one place of its shelf or at several.

    `display_c` is what the kiln's own display showed in the hold, or at the most in that firing.
    `wanted_at_c` is where such a tile comes to look as it is meant to, after a hold like this one.
    """

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="measurements")
    means = models.CharField("measured with", max_length=12, choices=Means)
    measured_on = models.DateField("on", default=timezone.localdate)
    measured_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    display_c = models.FloatField(
        "the kiln’s display", validators=[MinValueValidator(100), MaxValueValidator(1300)]
    )
    instrument = models.CharField("which one", max_length=80, blank=True)
    tolerance_c = models.FloatField(
        "right within ±", null=True, blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(20)],
    )  # fmt: skip
    wanted_at_c = models.FloatField(
        "such a tile looks as meant at", null=True, blank=True,
        validators=[MinValueValidator(400), MaxValueValidator(1300)],
    )  # fmt: skip
    family = models.ForeignKey(
        GlassFamily, models.PROTECT, null=True, blank=True, verbose_name="glass", related_name="+"
    )
    strip_thickness_mm = models.FloatField(
        "thickness of the strips, mm", null=True, blank=True,
        validators=[MinValueValidator(0.5), MaxValueValidator(12)],
    )  # fmt: skip
    gap_mm = models.FloatField(
        "gap beneath them, mm", null=True, blank=True,
        validators=[MinValueValidator(10), MaxValueValidator(500)],
    )  # fmt: skip
    firing = models.ForeignKey(
        Firing, models.SET_NULL, null=True, blank=True, related_name="measurements"
    )
    note = models.CharField(max_length=400, blank=True)

    trail = Trail(part_of="kiln")

    class Meta:
        ordering = ["-measured_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(means=Means.THERMOMETER) | Q(tolerance_c__isnull=False),
                name="a_thermometer_says_how_right_it_is",
            ),
            models.CheckConstraint(
                condition=~Q(means=Means.STRIPS)
                | Q(strip_thickness_mm__gt=0, gap_mm__gt=0),
                name="strips_have_thickness_and_gap",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.get_means_display()}, {self.measured_on:%d %b %Y}"


class PlaceReading(models.Model):
    """What one place showed in a measurement: by its means a temperature, a state or a sag."""

    measurement = models.ForeignKey(KilnMeasurement, models.CASCADE, related_name="readings")
    place = models.ForeignKey(ShelfPlace, models.PROTECT, related_name="readings")
    shown_c = models.FloatField(
        "shown", null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(1400)]
    )
    state = models.SmallIntegerField("looks", null=True, blank=True, choices=TileState)
    sag_mm = models.FloatField(
        "sag, mm", null=True, blank=True, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )

    trail = Trail(part_of="measurement")

    class Meta:
        ordering = ["place__y_percent", "place__x_percent"]
        constraints = [
            models.UniqueConstraint(
                fields=["measurement", "place"], name="one_reading_a_place_and_measurement"
            ),
            models.CheckConstraint(
                condition=Q(shown_c__isnull=False, state=None, sag_mm=None)
                | Q(shown_c=None, state__isnull=False, sag_mm=None)
                | Q(shown_c=None, state=None, sag_mm__isnull=False),
                name="a_place_shows_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}"

    @property
    def value(self) -> Any:
        """That of its three which it has."""
        found = (each for each in (self.shown_c, self.state, self.sag_mm) if each is not None)
        return next(found, None)


READING_OF = {Means.THERMOMETER: "shown_c", Means.TILES: "state", Means.STRIPS: "sag_mm"}
"""Which field of a reading each means fills."""
