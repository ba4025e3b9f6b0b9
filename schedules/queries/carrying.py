"""A revision carried to the other unit: each number before, exactly, and as it is keyed."""

from dataclasses import dataclass
from decimal import Decimal

from schedules.core_inputs import kiln_limits_of, load_for, written_segments
from schedules.models import Revision
from schedules.services.checks import check
from schedules.services.writing import CarriedSegment, Rounding, WrittenSegment, carry, to_core
from schedules.wording import RemarkLine, remark_lines
from studio.models import Unit

USUAL_STEP = Decimal(1)


@dataclass(frozen=True)
class CarriedNumber:
    """`exact` and `keyed` are in the new unit; the rounding is None where they are one."""

    position: int
    field: str
    written: Decimal
    exact: Decimal
    keyed: Decimal
    rounding: Rounding | None


@dataclass(frozen=True)
class Carrying:
    revision: Revision
    to_unit: str
    segments: list[CarriedSegment]
    remarks: list[RemarkLine]

    @property
    def keyed(self) -> list[WrittenSegment]:
        return [each.keyed for each in self.segments]

    @property
    def numbers(self) -> list[CarriedNumber]:
        return [
            number
            for position, each in enumerate(self.segments, start=1)
            for number in _numbers(position, each)
        ]

    @property
    def is_refused(self) -> bool:
        return any(remark.severity == "block" for remark in self.remarks)


def other_unit(revision: Revision) -> str:
    return Unit.CELSIUS if revision.unit == Unit.FAHRENHEIT else Unit.FAHRENHEIT


def usual_step(revision: Revision) -> Decimal:
    """The smallest step of the kiln that it was written for, if that is kept in the new unit."""
    kiln = revision.written_for
    if kiln is not None and kiln.controller_unit == other_unit(revision):
        return kiln.controller_step
    return USUAL_STEP


def carrying(revision: Revision, *, targets: Decimal, rates: Decimal) -> Carrying:
    """Targets and rates rounded to these steps, in degrees of the new unit."""
    to_unit = other_unit(revision)
    carried = carry(
        written_segments(revision), revision.unit, to_unit, targets, rate_resolution=rates
    )
    remarks: list[RemarkLine] = []
    if revision.written_for is not None:
        schedule = revision.schedule
        found = check(
            to_core([each.keyed for each in carried], to_unit),
            schedule.process,
            load_for(schedule),
            kiln_limits_of(revision.written_for),
        )
        remarks = remark_lines(found, to_unit)
    return Carrying(revision, to_unit, carried, remarks)


def _numbers(position: int, carried: CarriedSegment) -> list[CarriedNumber]:
    roundings = {rounding.field: rounding for rounding in carried.roundings}
    numbers = []
    for field in ("rate", "target"):
        written, keyed = getattr(carried.written, field), getattr(carried.keyed, field)
        if written is not None:
            rounding = roundings.get(field)
            exact = keyed if rounding is None else rounding.exact
            numbers.append(CarriedNumber(position, field, written, exact, keyed, rounding))
    return numbers
