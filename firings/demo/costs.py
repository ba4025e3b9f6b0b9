"""Prices of the demo studio, and the glass that its latest pieces took off the shelf."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from firings.actions.glass_use import layers_follow
from firings.actions.prices import prices_set
from firings.models import LoadedPiece
from studio.models import Kiln, Person

LATEST = timedelta(days=75)


def costs_make(kilns: dict[str, Kiln], keeper: Person, today: date) -> None:
    """Two lists, for energy grew dearer in spring; the big kiln's shelf has a price of its own."""
    prices: dict[str, Any] = {
        "kiln_hour": Decimal("0.35"),
        "wear_firing": Decimal("1.80"),
        "fee_firing": Decimal("4.00"),
        "fee_shelf": Decimal("14.00"),
        "fee_least": Decimal("6.00"),
        "charges_glass": True,
    }
    bittern = {"kiln_hour": Decimal("0.70"), "fee_shelf": Decimal("26.00")}
    of_kilns = {
        kiln: bittern | dict.fromkeys(("kiln_shelf", "wear_firing", "fee_firing"))
        for kiln in kilns.values()
        if kiln.name == "Bittern"
    }
    for days_ago, per_kwh in ((400, "0.29"), (150, "0.34")):
        prices_set(
            of_kilns=of_kilns,
            valid_from=today - timedelta(days=days_ago),
            per_kwh=Decimal(per_kwh),
            fee_kwh=Decimal(per_kwh),
            **prices,
        )
    _glass_take(keeper, today)


def _glass_take(keeper: Person, today: date) -> None:
    """As far as the shelf goes: what came later than the piece was taken from nothing."""
    loads = LoadedPiece.objects.filter(
        firing__made_at__date__gte=today - LATEST, length_mm__isnull=False, width_mm__isnull=False
    )
    for loaded in loads.select_related("glass", "piece").order_by("-pk")[:14]:
        try:
            with transaction.atomic():
                layers_follow(loaded=loaded, by=keeper, off_shelf=True)
        except ValidationError:
            continue
