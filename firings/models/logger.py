from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from firings.models.record import Firing
from studio.models import Kiln


class LoggerToken(models.Model):
    """With it a logger may send the readings of one kiln. Of its secret only the digest is kept."""

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="logger_tokens")
    name = models.CharField(max_length=60, help_text="Which logger holds it.")
    digest = models.CharField(max_length=64, editable=False)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    taken_back_at = models.DateTimeField(null=True, blank=True)
    last_seen_at = models.DateTimeField(null=True, blank=True, editable=False)
    minute_began_at = models.DateTimeField(null=True, blank=True, editable=False)
    sent_in_minute = models.PositiveIntegerField(default=0, editable=False)

    class Meta:
        ordering = [F("taken_back_at").desc(nulls_first=True), "-made_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kiln", "name"],
                condition=Q(taken_back_at=None),
                name="one_logger_of_a_name_a_kiln",
                violation_error_message="This kiln has a logger of that name.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LoggedReading(models.Model):
    """A reading that a logger sent of a kiln, until its firing is opened and packs it.

    `five_minutes` counts them since 1970: a running firing is watched by one reading of each.
    """

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="logged_readings")
    at = models.DateTimeField()
    temperature_c = models.FloatField(validators=[MinValueValidator(-20), MaxValueValidator(1400)])
    five_minutes = models.PositiveIntegerField(editable=False)
    received_at = models.DateTimeField(default=timezone.now, db_index=True, editable=False)

    class Meta:
        ordering = ["at"]
        constraints = [
            models.UniqueConstraint(fields=["kiln", "at"], name="one_logged_reading_a_moment"),
        ]
        indexes = [
            models.Index(fields=["kiln", "five_minutes", "at"], name="logged_readings_watched")
        ]

    def __str__(self) -> str:
        return f"{self.temperature_c:.0f} °C at {timezone.localtime(self.at):%H:%M:%S}"


class LoggedSeries(models.Model):
    """What loggers sent of an opened firing, in compressed columns, in whichever kiln they did.

    The firing's series is made of it and of the files that were taken.
    """

    firing = models.OneToOneField(
        Firing, models.CASCADE, related_name="logged_series", primary_key=True
    )
    kiln = models.ForeignKey(Kiln, models.PROTECT, related_name="+")
    packed = models.BinaryField()
    begins_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    count = models.PositiveIntegerField()

    class Meta:
        verbose_name_plural = "logged series"
        indexes = [models.Index(fields=["kiln", "begins_at"], name="logged_series_of_a_kiln")]

    def __str__(self) -> str:
        return f"{self.count} readings sent of firing {self.firing_id}"
