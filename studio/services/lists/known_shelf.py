"""The shelf as it is on record, and what a row of a list writes to it."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from studio.services.lists.known_glass import KnownGlass
from studio.services.stock import Rectangle

AREA, MASS, LENGTH, COUNT = "area", "mass", "length", "count"
MEASURES = {
    "sheet": (AREA,),
    "frit": (MASS,),
    "powder": (MASS,),
    "billet": (MASS,),
    "stringer": (COUNT, LENGTH),
    "rod": (COUNT, LENGTH),
    "other": (COUNT, MASS),
}
"""By form, how its lots may be measured; a test holds it against the models' table."""


@dataclass(frozen=True)
class KnownLot:
    """A lot on record.

    Parameters
    ----------
    glass : key of its kind
    remaining : in the measure's step
    sizes : pieces that are left of each size, of sheet alone
    """

    key: int
    glass: int
    measure: str
    received: dt.date
    supplier: str
    batch: str
    place: str
    price: Decimal | None
    currency: str
    remaining: int
    sizes: Mapping[Rectangle, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Shelf:
    """All that rows of a shelf are held against."""

    families: tuple[str, ...]
    kinds: tuple[KnownGlass, ...]
    lots: Mapping[int, KnownLot]
    currency: str
    today: dt.date


@dataclass(frozen=True)
class NewLot:
    """A lot that a row puts on the shelf.

    Parameters
    ----------
    glass : its kind, with a key of None where the row makes it
    amount : pieces of `size` of sheet, else in the measure's step
    """

    glass: KnownGlass
    measure: str
    amount: int
    size: Rectangle | None
    fields: Mapping[str, Any]


@dataclass(frozen=True)
class LotChange:
    """What a row changes of a lot.

    Parameters
    ----------
    found : what is there now, pieces of `size` of sheet, else in the measure's step; None where
        the row says the same or nothing of it
    fields : that stand otherwise, by their column
    """

    lot: KnownLot
    found: int | None
    size: Rectangle | None
    fields: Mapping[str, Any]
