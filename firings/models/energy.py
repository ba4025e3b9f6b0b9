from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from firings.models.record import Firing


class ComputedEnergy(models.Model):
    """The energy of an opened firing whose meter nobody read, kept as it was computed then.

    Later firings that are metered make later ones surer; what was charged for stays.
    """

    class By(models.TextChoices):
        RECORDING = "recording", "the recording"
        PLAN = "plan", "the plan"

    firing = models.OneToOneField(
        Firing, models.CASCADE, primary_key=True, related_name="computed_energy"
    )
    kwh = models.FloatField(validators=[MinValueValidator(0)])
    least_kwh = models.FloatField()
    most_kwh = models.FloatField()
    relative_error = models.FloatField()
    by = models.CharField(max_length=9, choices=By)
    metered = models.PositiveSmallIntegerField("metered firings that it rests on")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(least_kwh__gte=0)
                & Q(least_kwh__lte=F("kwh"))
                & Q(kwh__lte=F("most_kwh")),
                name="computed_energy_between_its_bounds",
            )
        ]

    def __str__(self) -> str:
        return f"about {self.kwh:.0f} kWh for firing {self.firing_id}"
