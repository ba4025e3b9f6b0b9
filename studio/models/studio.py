import zoneinfo

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from studio.models.trail import Trail


def check_time_zone(name: str) -> None:
    if name not in zoneinfo.available_timezones():
        raise ValidationError(
            "“%(name)s” is no time zone; write it like Europe/Lisbon or America/Halifax.",
            params={"name": name},
        )


class Studio(models.Model):
    """The studio itself: one row, made when it is first asked for."""

    name = models.CharField(max_length=80, default="Our studio")
    time_zone = models.CharField(max_length=60, default="UTC", validators=[check_time_zone])
    largest_peak_step_c = models.FloatField(
        "largest step of the peak",
        default=8.0,
        validators=[MinValueValidator(0), MaxValueValidator(25)],
        help_text="The next-time note never moves the peak by more than this.",
    )
    largest_hold_step_minutes = models.PositiveSmallIntegerField(
        "largest step of the hold",
        default=15,
        validators=[MaxValueValidator(60)],
        help_text="In minutes. The note never moves the hold at the top by more than this.",
    )
    asks_clearing = models.BooleanField(
        "an instructor clears what a student plans before it may start",
        default=False,
        help_text="Also for students who are in no class. A keeper may let one go, with a reason.",
    )
    currency = models.CharField(
        max_length=3,
        default="EUR",
        validators=[
            RegexValidator(
                r"^[A-Z]{3}\Z", "Three capital letters of ISO 4217, for example EUR, GBP or USD."
            )
        ],
        help_text="Three letters of ISO 4217, for example EUR. All prices are in it.",
    )
    is_demo = models.BooleanField(default=False, editable=False)

    trail = Trail(without=("is_demo",))

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="one_studio")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Studio":
        return cls.objects.get_or_create(pk=1)[0]
