"""What things cost the studio, and what it charges for them, from a day on."""

from decimal import Decimal
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from studio.models import Kiln
from studio.models.trail import Trail

DEAREST = 100_000


def _price(name: str, help_text: str = "", **kwargs: Any) -> models.DecimalField:
    return models.DecimalField(
        name,
        max_digits=10,
        decimal_places=4,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(DEAREST))],
        help_text=help_text,
        **{"default": Decimal(0)} | kwargs,
    )


def _kilns_own(name: str) -> models.DecimalField:
    return _price(name, null=True, blank=True, default=None)


class PriceList(models.Model):
    """Prices and the fee rule of firings that start on a day or after it, until the next list."""

    valid_from = models.DateField("from", unique=True, default=timezone.localdate)
    currency = models.CharField(max_length=3, editable=False)

    per_kwh = _price("energy, a kWh")
    kiln_hour = _price("the kiln, an hour")
    kiln_shelf = _price("the kiln, a whole shelf")
    wear_firing = _price("wear, a firing", "Elements, relay, thermocouple, shelf, kiln wash.")
    wear_hour = _price("wear, an hour")

    fee_firing = _price("for a firing")
    fee_shelf = _price("for a whole shelf", "Of which a load pays the share that it takes.")
    fee_kwh = _price("for a kWh")
    fee_hour = _price("for an hour")
    fee_least = _price("a firing, at least")
    charges_glass = models.BooleanField("glass off the shelf is charged at its cost", default=False)

    trail = Trail()

    class Meta:
        ordering = ["-valid_from"]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    **{
                        f"{name}__gte": 0
                        for name in (
                            "per_kwh",
                            "kiln_hour",
                            "kiln_shelf",
                            "wear_firing",
                            "wear_hour",
                            "fee_firing",
                            "fee_shelf",
                            "fee_kwh",
                            "fee_hour",
                            "fee_least",
                        )
                    }
                ),
                name="no_price_below_nothing",
            )
        ]

    def __str__(self) -> str:
        return f"Prices from {self.valid_from:%d %b %Y}"


class KilnPrice(models.Model):
    """Where a kiln has prices of its own; what is empty is as the list says."""

    price_list = models.ForeignKey(PriceList, models.CASCADE, related_name="kilns")
    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="+")
    kiln_hour = _kilns_own("an hour of it")
    kiln_shelf = _kilns_own("its whole shelf")
    wear_firing = _kilns_own("wear, a firing")
    fee_firing = _kilns_own("charged for a firing")
    fee_shelf = _kilns_own("charged for its whole shelf")

    trail = Trail(part_of="price_list")

    class Meta:
        ordering = ["kiln__name"]
        constraints = [
            models.UniqueConstraint(fields=["price_list", "kiln"], name="one_price_row_a_kiln")
        ]

    def __str__(self) -> str:
        return f"{self.kiln} in {self.price_list}"


OF_A_KILN = ("kiln_hour", "kiln_shelf", "wear_firing", "fee_firing", "fee_shelf")
