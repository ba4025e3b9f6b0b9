from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from studio.models.kiln import Kiln, ServiceKind


class ServiceInterval(models.Model):
    """After how many firings, or hours of firing, a kiln wants a service again."""

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="service_intervals")
    kind = models.CharField("what", max_length=12, choices=ServiceKind)
    every_firings = models.PositiveIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(10_000)]
    )
    every_hours = models.PositiveIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(100_000)]
    )

    class Meta:
        ordering = ["kiln__name", "kind"]
        constraints = [
            models.UniqueConstraint(fields=["kiln", "kind"], name="one_interval_a_service"),
            models.CheckConstraint(
                condition=Q(every_firings__isnull=False) | Q(every_hours__isnull=False),
                name="a_service_interval_says_how_often",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.kiln}"
