from pathlib import PurePath
from uuid import uuid4

from django.conf import settings
from django.core.files.storage import Storage, storages
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.record import Firing
from studio.models.trail import Trail


def recording_storage() -> Storage:
    """Originals stand in a folder of their own, not among the photographs."""
    return storages["recordings"]


def recording_path(file: "RecordingFile", filename: str) -> str:
    """A name of our own, so that nothing that came with the file reaches the disk's names."""
    return f"{file.firing_id}/{uuid4().hex}{_plain_ending(filename)}"


def _plain_ending(filename: str) -> str:
    ending = PurePath(filename).suffix.lower()
    return ending if ending[1:].isascii() and ending[1:].isalnum() and len(ending) <= 6 else ""


class RecordingFile(models.Model):
    """A data logger's file, kept as it came; taken once somebody saw how it reads.

    `choices` holds what a person overruled of the reading: see `firings.forms.reading_choices`.
    """

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="recording_files")
    name = models.CharField(max_length=200)
    original = models.FileField(
        upload_to=recording_path, storage=recording_storage, max_length=120, editable=False
    )
    digest = models.CharField(max_length=64, editable=False)
    size = models.PositiveBigIntegerField(editable=False)
    choices = models.JSONField(default=dict, blank=True)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField(default=timezone.now, editable=False)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    taken_at = models.DateTimeField(null=True, blank=True)

    trail = Trail(
        part_of="firing", without=("original", "digest", "size", "choices", "added_at", "taken_at")
    )

    class Meta:
        ordering = ["added_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firing", "digest"], name="a_recording_file_once_a_firing"
            ),
            models.CheckConstraint(
                condition=Q(taken_at=None, taken_by=None)
                | Q(taken_at__isnull=False, taken_by__isnull=False),
                name="a_taken_recording_file_has_a_taker",
            ),
        ]
        indexes = [models.Index(fields=["digest"])]

    def __str__(self) -> str:
        return self.name


class RecordingSeries(models.Model):
    """The cleaned readings of a firing's taken files, joined, in compressed columns.

    What the advice wants of each firing stands beside the columns, so that reading many firings
    never unpacks them: the peak, where they go over the top; the heat work in the glass that
    `glass` names, where they tell it; and the hold at the top. So does what they show of the kiln
    at full power: a temperature, and how fast it rose there. Lists leave `packed` out.
    """

    firing = models.OneToOneField(Firing, models.CASCADE, related_name="series", primary_key=True)
    packed = models.BinaryField()
    started_at = models.DateTimeField(null=True, blank=True)
    count = models.PositiveIntegerField()
    peak_c = models.FloatField(null=True, blank=True)
    duration_s = models.FloatField(null=True, blank=True)
    hold_s = models.FloatField(null=True, blank=True)
    heat_work = models.FloatField(null=True, blank=True)
    glass = models.CharField(max_length=64)
    full_power_at_c = models.FloatField(null=True, blank=True)
    full_power_rise_c_per_h = models.FloatField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "recording series"
        constraints = [
            models.CheckConstraint(
                condition=Q(full_power_at_c=None, full_power_rise_c_per_h=None)
                | Q(full_power_at_c__isnull=False, full_power_rise_c_per_h__gt=0),
                name="a_rise_at_full_power_has_its_temperature",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} readings of firing {self.firing_id}"


class SpotReading(models.Model):
    """A temperature that somebody read off the display and noted by hand."""

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="spot_readings")
    at = models.DateTimeField("when")
    temperature_c = models.FloatField(
        "temperature", validators=[MinValueValidator(-20), MaxValueValidator(1400)]
    )
    note = models.CharField(max_length=200, blank=True)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    trail = Trail(part_of="firing")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firing", "at"],
                name="one_spot_reading_a_moment",
                violation_error_message="A reading is noted for that minute already.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.temperature_c:.0f} °C at {timezone.localtime(self.at):%H:%M}"
