"""The rows of the lists that people save; temperatures in °C, as they are on record."""

from collections.abc import Iterator
from datetime import datetime, tzinfo
from decimal import Decimal
from typing import Any

from studio import formats
from studio.models import (
    GlassKind,
    GlassLot,
    Measure,
    Person,
    ShelfPlace,
    StockMovement,
)
from studio.queries.classes import classes_seen_by
from studio.queries.glass import families_on_record, kinds_on_record
from studio.queries.kilns import kilns_in_order
from studio.queries.names import ByName
from studio.queries.people import people_seen_by
from studio.services.lists import glass, shelf

AT_ONCE = 500
Row = tuple[Any, ...]

GLASS_COLUMNS = tuple(column.header for column in glass.COLUMNS if column.saved)
SHELF_COLUMNS = tuple(column.header for column in shelf.COLUMNS if column.saved)


def glass_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    for kind in kinds_on_record().filter(archived_at=None).iterator(chunk_size=AT_ONCE):
        points = kind.strain_point_c, kind.annealing_point_c, kind.softening_point_c
        carries = (
            kind.carries_sulphur,
            kind.carries_copper,
            kind.carries_lead,
            kind.carries_silver,
        )
        yield (
            kind.pk,
            *_glass(kind),
            *map(figure, (*points, kind.expansion)),
            *map(_yes, carries),
            kind.note,
        )


def shelf_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    """What is left, a row a lot; of sheet a row a lot and size."""
    lots = _lots().filter(remaining__gt=0).prefetch_related("sizes")
    for lot in lots.iterator(chunk_size=AT_ONCE):
        front = (lot.pk, *_glass(lot.kind))
        back = (lot.received_on, lot.supplier, lot.batch, lot.place, figure(lot.price))
        for there in _there(lot):
            yield (*front, *there, *back, lot.currency)


def _there(lot: GlassLot) -> Iterator[Row]:
    """Length and width of a piece, pieces, mass, length in all: those by which it is measured."""
    if lot.is_sheet:
        for size in lot.sizes.all():
            yield size.length_mm, size.width_mm, size.pieces, None, None
        return
    amount = in_its_unit(lot.remaining, lot.measure)
    by_measure = {Measure.COUNT: 2, Measure.MASS: 3, Measure.LENGTH: 4}
    place = by_measure[Measure(lot.measure)]
    yield tuple(amount if at == place else None for at in range(5))


def lot_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    """Every lot, those used up too: what came and what is left, in the measure's unit."""
    for lot in _lots().iterator(chunk_size=AT_ONCE):
        came, left = (in_its_unit(each, lot.measure) for each in (lot.received, lot.remaining))
        unit = formats.STOCK_UNITS.get(lot.measure, ("pieces",))[0]
        front = (lot.pk, *_glass(lot.kind), came, left, unit)
        yield (*front, lot.received_on, lot.supplier, lot.batch, lot.place, figure(lot.price),
               lot.currency)  # fmt: skip


def movement_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    """The ledger from its beginning."""
    lines = StockMovement.objects.select_related("lot__kind__family", "by").order_by("pk")
    for line in lines.iterator(chunk_size=AT_ONCE):
        measure = line.lot.measure
        unit = formats.STOCK_UNITS.get(measure, ("pieces",))[0]
        size = line.length_mm, line.width_mm, line.pieces
        yield (line.pk, _moment(line.written_at, zone), line.lot_id, str(line.lot.kind),
               line.get_what_display(), *size, in_its_unit(line.amount, measure), unit,
               line.by.name, line.reason, line.part_of_id, line.takes_back_id)  # fmt: skip


def family_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    for each in families_on_record().iterator(chunk_size=AT_ONCE):
        points = each.strain_point_c, each.annealing_point_c, each.softening_point_c
        yield (each.name, *map(figure, (*points, each.anneal_soak_c, each.expansion)), each.note)


def kiln_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    for kiln in kilns_in_order().iterator(chunk_size=AT_ONCE):
        yield (kiln.name, kiln.place, _yes(kiln.in_service), kiln.get_chamber_shape_display(),
               kiln.chamber_width_mm, kiln.chamber_depth_mm, kiln.chamber_height_mm,
               kiln.get_heat_from_display(), figure(kiln.max_temperature_c), figure(kiln.power_kw),
               kiln.serial_number, kiln.controller_segments, kiln.get_controller_unit_display(),
               kiln.thermocouple_type, kiln.thermocouple_fitted_on, figure(kiln.offset_c),
               kiln.offset_measured_on, kiln.offset_evidence, kiln.note)  # fmt: skip


def place_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    places = ShelfPlace.objects.select_related("kiln").order_by(
        ByName("kiln__name"), "y_percent", "x_percent", "pk"
    )
    for each in places.iterator(chunk_size=AT_ONCE):
        at = each.x_percent, each.y_percent
        yield each.kiln.name, each.name, *at, _yes(each.is_reference)


def person_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    for each in people_seen_by(person).iterator(chunk_size=AT_ONCE):
        joined = f"{each.joined_at.astimezone(zone):%Y-%m-%d}"
        state = "open" if each.is_active else "closed"
        role = each.get_role_display()
        yield each.name, each.sign_in_name, role, each.email, each.unit, joined, state


def class_rows(person: Person, zone: tzinfo) -> Iterator[Row]:
    for each in classes_seen_by(person).iterator(chunk_size=AT_ONCE):
        teachers = "; ".join(teacher.name for teacher in each.instructors.all())
        students = each.students  # type: ignore[attr-defined]  # annotated
        yield each.name, each.starts_on, each.ends_on, teachers, students, each.note


def figure(value: float | Decimal | None) -> str | None:
    """A number with all its digits and none to spare: 12.5000 → 12.5."""
    if value is None:
        return None
    text = f"{Decimal(repr(value)) if isinstance(value, float) else value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def in_its_unit(amount: int, measure: str) -> str | None:
    """Whole steps in the unit that is read, exactly: 1500 mg → 1.5."""
    _, steps, decimals = formats.STOCK_UNITS.get(measure, ("", 1, 0))
    whole, rest = divmod(abs(amount), steps)
    text = f"{whole}.{rest:0{decimals}d}".rstrip("0").rstrip(".") if decimals else str(whole)
    return f"-{text}" if amount < 0 else text


def _lots() -> Any:
    return GlassLot.objects.select_related("kind__family").order_by("pk")


def _glass(kind: GlassKind) -> Row:
    return (kind.family.name, kind.maker, kind.code, kind.colour, kind.get_form_display(),
            kind.get_look_display(), figure(kind.thickness_mm))  # fmt: skip


def _moment(at: datetime, zone: tzinfo) -> str:
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}"


def _yes(is_so: bool) -> str:
    return "yes" if is_so else "no"
