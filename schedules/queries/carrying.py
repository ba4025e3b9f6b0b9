"""A revision carried to the other unit: each number before, exactly, and as it is keyed."""

from dataclasses import dataclass
from decimal import Decimal

from schedules.core_inputs import kiln_limits_of, load_for, written_segments
from schedules.models import Revision
from schedules.queries.remarks import Mending, RemarkList, mends_in, remark_list, silenced_on
from schedules.services.case import Case
from schedules.services.checks import check_case
from schedules.services.writing import CarriedSegment, Rounding, WrittenSegment, carry, to_core
from studio.models import Kiln, Unit

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
    remarks: RemarkList

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
        return self._is_refused_without("")

    def mending_of(self, key: str) -> Mending | None:
        """The change that satisfies the remark of that key, where nothing else blocks then."""
        heard = self.remarks.named(key)
        if heard is None or self._is_refused_without(key):
            return None
        return heard.mending

    def _is_refused_without(self, key: str) -> bool:
        lines = self.remarks.lines
        return any(line.severity == "block" and line.key != key for line in lines)


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
    remarks = RemarkList([], [])
    if revision.written_for is not None:
        remarks = _remarks(revision, revision.written_for, [each.keyed for each in carried])
    return Carrying(revision, to_unit, carried, remarks)


def _remarks(revision: Revision, kiln: Kiln, keyed: list[WrittenSegment]) -> RemarkList:
    schedule, unit = revision.schedule, other_unit(revision)
    segments = tuple(to_core(keyed, unit))
    case = Case(segments, schedule.process, load_for(schedule), kiln_limits_of(kiln))
    found = check_case(case)
    mends = mends_in(case, found, keyed, unit)
    return remark_list(found, unit, silenced=silenced_on(schedule), mends=mends)


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
