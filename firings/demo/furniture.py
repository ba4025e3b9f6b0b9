"""Moulds and shelves of the demo studio, with coats of which one is used up."""

from datetime import datetime, timedelta

from django.db.models import QuerySet

from firings.models import LoadedPiece
from studio.actions.furniture import furniture_coat
from studio.models import Kiln, KilnFurniture, Mould, Person


def furniture_make(kilns: dict[str, Kiln], keeper: Person, now: datetime) -> None:
    """A shelf a kiln, on which all lay that says “the shelf”, and a mould that slumps lay in."""
    for number, kiln in enumerate(kilns.values()):
        shelf = KilnFurniture.objects.create(
            name=f"{kiln.name} shelf", material=Mould.SHELF, kiln=kiln
        )
        _lay(shelf, LoadedPiece.objects.filter(firing__kiln=kiln, mould__in=("", Mould.SHELF)))
        coated = now - timedelta(days=20 * number + 3)
        furniture_coat(furniture=shelf, by=keeper, coats=5, coated_at=coated)
    bowl = KilnFurniture.objects.create(
        name="Shallow bowl, 300",
        material=Mould.CERAMIC,
        damage="a chip at the rim, towards the door",
        note="Four vent holes. Level it on posts.",
    )
    furniture_coat(furniture=bowl, by=keeper, coats=4, coated_at=now - timedelta(days=90))
    _lay(bowl, LoadedPiece.objects.filter(firing__revision__schedule__process="slump"))


def _lay(furniture: KilnFurniture, load: QuerySet[LoadedPiece]) -> None:
    load.update(lies_on=furniture, mould=furniture.material)
