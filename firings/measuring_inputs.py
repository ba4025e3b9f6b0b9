"""Turns rows of measurements, and of judged pieces by place, into the core's dataclasses.

Rows come in with what is needed of them prefetched (`firings.queries.measured`).
"""

from collections.abc import Hashable, Iterable, Iterator, Mapping
from math import hypot, isfinite, log
from typing import Any

from django.utils import timezone

from firings.advice_inputs import past_firing, service_epoch
from firings.core_inputs import keyed_segments, schedule_glass
from firings.models import Firing, KilnMeasurement, Means
from firings.services.evenness import PlaceTemperature, PlaceVerdict
from firings.services.measured import Measured, by_strips, by_thermometer, by_tiles, per_degree
from firings.services.process_rules import NO_VISCOUS_GLASS, TOP_IS_THE_ANNEAL
from firings.services.strips import SagError, Strip
from firings.services.top import find_top
from studio.core_inputs import glass_of
from studio.models import Kiln

KNOWN_RIGHT_WITHIN_C = 5.0
"""Of witness tiles of which nobody noted how right they are (common practice, no source)."""


def measured_of(row: KilnMeasurement, firings: Mapping[int, Firing]) -> Measured | None:
    """What a measurement showed; None where nothing is left that tells anything.

    `firings` holds those in which strips lay, as `firings_as_evidence` gives them.
    """
    day = float(row.measured_on.toordinal())
    instrument = (row.means, row.instrument.strip().casefold())
    values: dict[Hashable, Any] = {
        reading.place_id: reading.value for reading in row.readings.all()
    }
    if not values:
        return None
    if row.means == Means.THERMOMETER:
        return by_thermometer(day, row.display_c, values, row.tolerance_c or 0.0, instrument)
    glass = glass_of(None, row.family)
    if row.means == Means.TILES:
        known = KNOWN_RIGHT_WITHIN_C if row.tolerance_c is None else row.tolerance_c
        return by_tiles(
            day, row.display_c, values, glass, instrument,
            wanted_at=row.wanted_at_c, tolerance=known,
        )  # fmt: skip
    firing = None if row.firing_id is None else firings.get(row.firing_id)
    past = None if firing is None else past_firing(firing, glass)
    work = None if past is None or not isfinite(past.heat_work) else past.heat_work
    strip = Strip(row.strip_thickness_mm or 0.0, row.gap_mm or 0.0, glass.density)
    try:
        return by_strips(
            day, row.display_c, values, strip, glass, instrument,
            heat_work=work, heat_work_doubt=past.uncertainty if past and work else 0.0,
        )  # fmt: skip
    except SagError:  # its strips were changed since, by hand
        return None


def place_temperatures(
    measured: Mapping[int, Measured],
) -> Iterator[PlaceTemperature]:
    """By the key of each measurement."""
    for occasion, each in measured.items():
        for one in each.seen:
            yield PlaceTemperature(occasion, one.place, one.glass, one.doubt)


def place_verdicts(firings: Iterable[Firing], kiln: Kiln) -> Iterator[PlaceVerdict]:
    """Judged pieces with a place on the shelf of this kiln.

    Left out is what has no heat work that can be taken seriously, and where something else was
    changed. After a new thermocouple a schedule counts as another: its display reads otherwise.
    """
    for firing in firings:
        schedule = firing.revision.schedule
        if schedule.process in NO_VISCOUS_GLASS | TOP_IS_THE_ANNEAL or firing.also_changed:
            continue
        glass = schedule_glass(firing.revision)
        past = past_firing(firing, glass)
        if past is None or not isfinite(past.heat_work) or past.heat_work <= 0.0:
            continue
        degree = per_degree(find_top(keyed_segments(firing)).peak, glass)
        doubt = hypot(past.uncertainty, firing.kiln.repeatability_c * degree)
        epoch = service_epoch(firing.kiln, timezone.localdate(firing.started_at))
        for loaded in firing.load.all():
            verdict, place = loaded.counted_verdict, loaded.place
            if verdict is None or place is None or place.kiln_id != kiln.pk:
                continue
            yield PlaceVerdict(
                firing.pk, (schedule.pk, epoch), place.pk, verdict,
                log(past.heat_work), doubt, degree,
            )  # fmt: skip
