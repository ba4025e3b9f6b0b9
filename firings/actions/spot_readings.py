"""Keeps the readings that people note by hand beside a kiln."""

from datetime import datetime

from django.db import transaction

from firings.models import Firing, SpotReading
from studio.models import Person


@transaction.atomic
def spot_reading_add(
    *, firing: Firing, by: Person, at: datetime, temperature_c: float, note: str = ""
) -> SpotReading:
    """The reading, noted. `ValidationError` where that moment has one: the firing is locked."""
    firing = Firing.objects.select_for_update().get(pk=firing.pk)
    reading = SpotReading(firing=firing, at=at, temperature_c=temperature_c, note=note, noted_by=by)
    reading.full_clean()
    reading.save()
    return reading
