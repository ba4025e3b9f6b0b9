"""Coats moulds and shelves, and puts them away."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from studio.models import FurnitureCoat, KilnFurniture, Person


@transaction.atomic
def furniture_coat(
    *, furniture: KilnFurniture, by: Person, coats: int, coated_at: datetime | None = None
) -> FurnitureCoat:
    """Coated anew: what is fired on it counts from then on."""
    coat = FurnitureCoat(furniture=furniture, coats=coats, by=by)
    if coated_at is not None:
        coat.coated_at = coated_at
    if coat.coated_at > timezone.now():
        raise ValidationError({"coated_at": "That lies in the future: note it once it is done."})
    coat.full_clean()
    coat.save()
    return coat


@transaction.atomic
def furniture_put_away(*, furniture: KilnFurniture, away: bool) -> KilnFurniture:
    """Broken or given away: it is not offered any more, and what was made on it stays told."""
    furniture = KilnFurniture.objects.select_for_update().get(pk=furniture.pk)
    furniture.archived_at = timezone.now() if away else None
    furniture.save()
    return furniture
