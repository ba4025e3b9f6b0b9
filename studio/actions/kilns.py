from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from studio.models import Kiln, ShelfPlace
from studio.models.trail import trail_begins
from studio.queries.places import used_places

FIRST_PLACES = [
    ("back left", 17, 17),
    ("back", 50, 17),
    ("back right", 83, 17),
    ("left", 17, 50),
    ("centre", 50, 50),
    ("right", 83, 50),
    ("front left", 17, 83),
    ("front", 50, 83),
    ("front right", 83, 83),
]
"""Name, percent from the left, percent from the back."""


def first_places(kiln: Kiln) -> list[ShelfPlace]:
    """Nine unsaved places in three rows of three, the centre being the reference."""
    return [
        ShelfPlace(kiln=kiln, name=name, x_percent=x, y_percent=y, is_reference=name == "centre")
        for name, x, y in FIRST_PLACES
    ]


@transaction.atomic
def kiln_add(*, kiln: Kiln) -> Kiln:
    """A new kiln with nine places on its shelf, the centre being the reference."""
    kiln.full_clean()
    kiln.save()
    for place in first_places(kiln):
        place.save()
    return kiln


@transaction.atomic
def places_arrange(
    *,
    kiln: Kiln,
    kept: Sequence[ShelfPlace],
    removed: Sequence[ShelfPlace],
    reference: ShelfPlace,
) -> Kiln:
    """A kiln's shelf as its editor leaves it; two places may swap their names."""
    Kiln.objects.select_for_update().get(pk=kiln.pk)
    if used_places(kiln).intersection(place.pk for place in removed):
        raise ValidationError("A place where pieces have lain stays; rename or move it.")
    for place in removed:
        place.delete()
    for place in kept:
        if place.pk is not None:
            trail_begins(place)  # what is written in between is nobody's change
    kiln.places.update(is_reference=False)
    for place in kept:  # out of each other's way, until each has its new name
        kiln.places.filter(pk=place.pk).update(name=f"\u2007{place.pk}")
    for place in kept:
        place.kiln = kiln
        place.is_reference = place is reference
        place.full_clean()
        place.save()
    return kiln
