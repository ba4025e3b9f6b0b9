"""Writes down what was measured in a kiln, and takes an offset over into its record."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from firings.models import READING_OF, KilnMeasurement, Means, PlaceReading
from firings.queries.measured import OffsetBand, offset_bands_of
from studio.models import Kiln, ShelfPlace

LONGEST_EVIDENCE = 200


@transaction.atomic
def measurement_save(
    *, measurement: KilnMeasurement, readings: Mapping[ShelfPlace, Any]
) -> KilnMeasurement:
    """A measurement, new or changed, with what each place showed: °C, a state or mm by its means.

    A place that is not among them, or has None, showed nothing.
    """
    if all(value is None for value in readings.values()):
        raise ValidationError("Note at least one place.", code="empty")
    measurement.full_clean()
    measurement.save()
    standing = {each.place_id: each for each in measurement.readings.all()}
    shows = READING_OF[Means(measurement.means)]
    for place, value in readings.items():
        reading = standing.pop(place.pk, None)
        if value is None:
            if reading is not None:
                reading.delete()
            continue
        reading = reading or PlaceReading(measurement=measurement, place=place)
        setattr(reading, shows, value)
        reading.full_clean()
        reading.save()
    for gone in standing.values():
        gone.delete()
    return measurement


@transaction.atomic
def offset_adopt(*, kiln: Kiln, seen: str) -> Kiln:
    """The offset of one band becomes the kiln's own, with its evidence; `seen` is what was shown.

    Raises `ValidationError` where measurements changed meanwhile, or it is more than a kiln's
    record takes.
    """
    kiln = Kiln.objects.select_for_update().get(pk=kiln.pk)
    band = next((each for each in offset_bands_of(kiln) if each.seen == seen), None)
    if band is None:
        raise ValidationError(
            "What was measured has changed meanwhile. Look at it again.", code="changed"
        )
    kiln.offset_c = round(band.offset.value, 1)
    kiln.offset_measured_on = band.last_on
    kiln.offset_evidence = _evidence(band)
    kiln.full_clean()
    kiln.save()
    return kiln


def _evidence(band: OffsetBand) -> str:
    """As “3 measurements with witness tiles at 790 to 804 °C, ± 3.1 °C”."""
    offset = band.offset
    count = f"{offset.measurements} measurement{'' if offset.measurements == 1 else 's'}"
    low, high = round(offset.low), round(offset.high)
    where = f"{low} °C" if low == high else f"{low} to {high} °C"
    means = " and ".join(band.means)
    return f"{count} with {means} at {where}, ± {offset.spread:.1f} °C"[:LONGEST_EVIDENCE]
