"""Writes what things cost and what is charged, from a day on."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction

from firings.models import KilnPrice, PriceList
from studio.models import Kiln, Studio

OfKilns = Mapping[Kiln, Mapping[str, Decimal | None]]


@transaction.atomic
def prices_set(*, prices: PriceList | None = None, of_kilns: OfKilns, **facts: Any) -> PriceList:
    """A new list, in the studio's currency of today, or `prices` with other figures.

    `of_kilns` has each kiln's own prices; where all of them are None, it has none.
    """
    if prices is None:
        prices = PriceList(currency=Studio.current().currency)
    else:
        prices = PriceList.objects.select_for_update().get(pk=prices.pk)
    for name, value in facts.items():
        setattr(prices, name, value)
    prices.full_clean()
    prices.save()
    for kiln, own in of_kilns.items():
        _set_of_kiln(prices, kiln, own)
    return prices


def _set_of_kiln(prices: PriceList, kiln: Kiln, own: Mapping[str, Decimal | None]) -> None:
    row = KilnPrice.objects.filter(price_list=prices, kiln=kiln).first()
    if all(value is None for value in own.values()):
        if row is not None:
            row.delete()
        return
    row = row or KilnPrice(price_list=prices, kiln=kiln)
    before = {name: getattr(row, name) for name in own}
    for name, value in own.items():
        setattr(row, name, value)
    if row.pk is None or before != dict(own):
        row.full_clean()
        row.save()
