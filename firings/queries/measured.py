"""What was measured in a kiln: its offset by temperature, its shelf, and both over the years."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache

from django.db.models import QuerySet

from firings.core_inputs import started_since
from firings.measuring_inputs import measured_of, place_temperatures, place_verdicts
from firings.models import Firing, KilnMeasurement
from firings.queries.tuning import firings_as_evidence
from firings.services.evenness import Evenness, PlaceEvenness, evenness
from firings.services.kiln_offset import (
    PROVEN_WITHIN,
    MeasuredOffset,
    OffsetReading,
    offset_bands,
    offset_readings,
)
from firings.services.measured import Measured, SeenRange
from studio.models import Kiln, Person, ShelfPlace
from studio.models.kiln import ServiceKind

MOST_FIRINGS = 60
"""Of the latest with a judged piece at a place: the shelf is asked of no more."""
SHELVES_KEPT = 32

kept_evenness = lru_cache(maxsize=SHELVES_KEPT)(evenness)
"""By all that it depends on: the same shelf is told anew only when something about it changed."""


@dataclass(frozen=True)
class OffsetBand:
    """An offset near one temperature, with the means behind it in words."""

    offset: MeasuredOffset
    means: tuple[str, ...]

    @property
    def last_on(self) -> date:
        return date.fromordinal(int(self.offset.last_day))

    @property
    def seen(self) -> str:
        """What it says, as a form carries it back."""
        return f"{self.offset.at:.1f} {self.offset.value:.1f} {self.offset.spread:.1f}"


@dataclass(frozen=True)
class MeasurementLine:
    """A measurement with what it says; None where it says nothing of the display, or of the shelf.

    `is_current`: taken since the thermocouple was last changed.
    """

    row: KilnMeasurement
    offset: OffsetReading | None
    range: SeenRange | None
    is_current: bool


@dataclass(frozen=True)
class PlaceLine:
    place: ShelfPlace
    seen: PlaceEvenness


@dataclass(frozen=True)
class Epoch:
    """A service after which the kiln is measured anew."""

    on: date
    kind: str

    @property
    def words(self) -> str:
        return str(ServiceKind(self.kind).label)


@dataclass(frozen=True)
class MeasuredKiln:
    """All that the page of a kiln's measurements shows."""

    kiln: Kiln
    reference: ShelfPlace | None
    bands: list[OffsetBand]
    lines: list[MeasurementLine]
    shelf: Evenness | None
    places: list[ShelfPlace]
    epochs: list[Epoch]
    shelf_since: date | None

    @property
    def proven_within(self) -> float:
        return PROVEN_WITHIN

    @property
    def current(self) -> list[MeasurementLine]:
        return [line for line in self.lines if line.is_current]

    @cached_property
    def place_lines(self) -> list[PlaceLine]:
        """From the coldest place up."""
        if self.shelf is None:
            return []
        by_pk = {place.pk: place for place in self.places}
        found = [(each, by_pk.get(_key(each.place))) for each in self.shelf.places]
        return [PlaceLine(place, each) for each, place in found if place is not None]

    @property
    def coldest(self) -> PlaceLine | None:
        """The coldest place, where the odds are good enough."""
        named = None if self.shelf is None else self.shelf.coldest
        return next((line for line in self.place_lines if line.seen == named), None)

    @property
    def pieces(self) -> int:
        return sum(line.seen.pieces for line in self.place_lines)


def measured_kiln(kiln: Kiln, reader: Person) -> MeasuredKiln:
    """In a number of queries that no measurement and no firing raises."""
    rows = list(_measurements(kiln))
    measured = _measured(rows)
    places = list(kiln.places.all())
    reference = next((place for place in places if place.is_reference), None)
    since, shelf_since = kiln.thermocouple_changed_on, kiln.last_service(ServiceKind.ELEMENTS)
    readings = _readings_by_row(rows, measured, reference, kiln)
    lines = [
        MeasurementLine(
            row, readings.get(row.pk), _range(measured.get(row.pk)), _is_since(row, since)
        )
        for row in rows
    ]
    shelf = None
    if reference is not None:
        taken = {
            row.pk: measured[row.pk]
            for row in rows
            if row.pk in measured and _is_since(row, shelf_since)
        }
        shelf = kept_evenness(
            tuple(place_temperatures(taken)),
            tuple(place_verdicts(_judged_on_the_shelf(kiln, shelf_since, reader), kiln)),
            reference.pk,
        )
    return MeasuredKiln(
        kiln=kiln,
        reference=reference,
        bands=_bands([line for line in lines if line.is_current]),
        lines=lines,
        shelf=shelf,
        places=places,
        epochs=_epochs(kiln, rows),
        shelf_since=shelf_since,
    )


def offset_bands_of(kiln: Kiln) -> list[OffsetBand]:
    """The offset in each band of temperature, since the thermocouple was last changed."""
    return _bands(_current_lines(kiln))


def readings_of(kiln: Kiln) -> list[OffsetReading]:
    """What each measurement says of the offset, since the thermocouple was last changed."""
    return [line.offset for line in _current_lines(kiln) if line.offset is not None]


def _current_lines(kiln: Kiln) -> list[MeasurementLine]:
    since = kiln.thermocouple_changed_on
    rows = [row for row in _measurements(kiln) if _is_since(row, since)]
    measured = _measured(rows)
    reference = kiln.places.filter(is_reference=True).first()
    readings = _readings_by_row(rows, measured, reference, kiln)
    return [MeasurementLine(row, readings.get(row.pk), None, True) for row in rows]


def _measurements(kiln: Kiln) -> QuerySet[KilnMeasurement]:
    return kiln.measurements.select_related(
        "measured_by", "family", "firing__revision__schedule"
    ).prefetch_related("readings__place")


def _measured(rows: Sequence[KilnMeasurement]) -> dict[int, Measured]:
    """By the key of each measurement; those that tell nothing are left out."""
    wanted = [row.firing_id for row in rows if row.firing_id is not None]
    # Of these the heat work by the display counts, which is no matter of their loads.
    fired = {each.pk: each for each in firings_as_evidence(None).filter(pk__in=wanted)}
    found = {row.pk: measured_of(row, fired) for row in rows}
    return {key: each for key, each in found.items() if each is not None}


def _readings_by_row(
    rows: Sequence[KilnMeasurement],
    measured: Mapping[int, Measured],
    reference: ShelfPlace | None,
    kiln: Kiln,
) -> dict[int, OffsetReading]:
    if reference is None:
        return {}
    found = {}
    for row in rows:
        if row.pk in measured:
            told = offset_readings([measured[row.pk]], reference.pk, kiln.repeatability_c)
            if told:
                found[row.pk] = told[0]
    return found


def _bands(lines: Sequence[MeasurementLine]) -> list[OffsetBand]:
    told = [(line, line.offset) for line in lines if line.offset is not None]
    bands = []
    for band in offset_bands([offset for _, offset in told]):
        means = dict.fromkeys(
            line.row.get_means_display()
            for line, offset in told
            if band.low <= offset.display <= band.high
        )
        bands.append(OffsetBand(band, tuple(means)))
    return bands


def _judged_on_the_shelf(kiln: Kiln, since: date | None, reader: Person) -> list[Firing]:
    """The latest firings with a piece at a place, as far as this reader sees their loads."""
    firings = (
        firings_as_evidence(reader)
        .filter(started_since(since), kiln=kiln, load__place__kiln=kiln)
        .distinct()
        .order_by("-started_at", "-pk")
    )
    return list(firings[:MOST_FIRINGS])


def _range(measured: Measured | None) -> SeenRange | None:
    return None if measured is None else measured.range


def _is_since(row: KilnMeasurement, day: date | None) -> bool:
    """What was measured on the day of a service was measured after it."""
    return day is None or row.measured_on >= day


def _epochs(kiln: Kiln, rows: Sequence[KilnMeasurement]) -> list[Epoch]:
    """Services between the first measurement and now, the first of them first."""
    if not rows:
        return []
    first = min(row.measured_on for row in rows)
    kinds = (ServiceKind.THERMOCOUPLE, ServiceKind.ELEMENTS)
    found = [
        Epoch(entry.done_on, entry.kind)
        for entry in kiln.service_entries.all()
        if entry.kind in kinds and entry.done_on >= first
    ]
    return sorted(found, key=lambda each: each.on)


def _key(place: object) -> int:
    return place if isinstance(place, int) else 0
