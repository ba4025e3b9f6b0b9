"""A computer or tablet of the studio, on which nobody is signed in and each save asks who."""

from datetime import datetime

from django.core.validators import MinLengthValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.access import AT_DEVICE
from studio.models.choices import Unit
from studio.models.person import Person
from studio.models.trail import Trail


class SharedDevice(models.Model):
    """Known by a long random token in its browser's cookie; here stands its digest alone."""

    name = models.CharField(
        max_length=40,
        validators=[MinLengthValidator(2)],
        help_text="Where it stands or what it is, such as “tablet by the big kiln”.",
    )
    unit = models.CharField("shows temperatures in", max_length=1, choices=Unit, default="C")
    digest = models.CharField(max_length=64, editable=False)
    set_up_by = models.ForeignKey(Person, models.PROTECT, related_name="+", editable=False)
    set_up_at = models.DateTimeField(default=timezone.now, editable=False)
    taken_away_by = models.ForeignKey(
        Person, models.PROTECT, null=True, blank=True, related_name="+", editable=False
    )
    taken_away_at = models.DateTimeField(null=True, blank=True, editable=False)
    last_seen_at = models.DateTimeField(null=True, blank=True, editable=False)
    wrong_codes = models.PositiveSmallIntegerField(default=0, editable=False)
    wrong_since = models.DateTimeField(null=True, blank=True, editable=False)
    locked_until = models.DateTimeField(null=True, blank=True, editable=False)

    # What the device itself notes of its use is written by `update`, and no part of the trail.
    trail = Trail(without=("digest", "last_seen_at", "wrong_codes", "wrong_since", "locked_until"))

    class Meta:
        ordering = [F("taken_away_at").desc(nulls_first=True), "-set_up_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["name"],
                condition=Q(taken_away_at=None),
                name="one_shared_device_a_name",
                violation_error_message="A studio device has that name already.",
            ),
            models.CheckConstraint(
                condition=Q(unit__in=Unit.values), name="shared_device_shows_c_or_f"
            ),
            models.CheckConstraint(
                condition=Q(taken_away_at=None, taken_away_by=None)
                | Q(taken_away_at__isnull=False, taken_away_by__isnull=False),
                name="taken_away_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def waits_until(self) -> datetime | None:
        """While it takes no codes; None while it does."""
        is_over = self.locked_until is None or self.locked_until <= timezone.now()
        return None if is_over else self.locked_until

    @property
    def reader(self) -> Person:
        """Who reads while nobody said who they are: no row, and with nothing of their own.

        What would be written as theirs fails by its foreign key.
        """
        return Person(pk=0, name=self.name, role=AT_DEVICE, unit=self.unit, sign_in_name="")


class ShortCode(models.Model):
    """Four to eight digits by which somebody says on a studio device who they are; hashed."""

    person = models.OneToOneField(Person, models.CASCADE, related_name="short_code")
    code_hash = models.CharField(max_length=128, editable=False)
    set_at = models.DateTimeField(default=timezone.now, editable=False)
    wrong_in_a_row = models.PositiveSmallIntegerField(default=0, editable=False)

    trail = Trail(part_of="person", without=("code_hash", "wrong_in_a_row"))

    def __str__(self) -> str:
        return f"short code of {self.person}"


class PersonAtDevice(models.Model):
    """When somebody last saved on a device, and the wrong codes in their name there."""

    device = models.ForeignKey(SharedDevice, models.CASCADE, related_name="people")
    person = models.ForeignKey(Person, models.CASCADE, related_name="+")
    saved_at = models.DateTimeField(null=True, blank=True)
    wrong_codes = models.PositiveSmallIntegerField(default=0)
    wrong_since = models.DateTimeField(null=True, blank=True)
    locked_until = models.DateTimeField(null=True, blank=True)
    untold_lock_at = models.DateTimeField(null=True, blank=True)
    """When the last wait began of which the person has not said that they know."""

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["device", "person"], name="one_row_a_person_a_device")
        ]

    def __str__(self) -> str:
        return f"{self.person} at {self.device}"
