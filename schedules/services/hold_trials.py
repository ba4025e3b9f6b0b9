"""What may be tried where a hold is missing or short: for stress, for air, or for water."""

from collections.abc import Iterator

from schedules.services.annealing_rules import (
    SHORTEST_SOAK,
    first_of_the_way_down,
    soak_range,
)
from schedules.services.case import Case, Remark
from schedules.services.curve import Segment
from schedules.services.drafting import MOULD_DRY, bubble_temperature
from schedules.services.keyable import keyed_hold, keyed_target
from schedules.services.mould_rules import DRYING_RANGE
from schedules.services.plan_changes import (
    SLOWER,
    Trial,
    inserted,
    slower,
    soak_shown,
    value_of,
    with_change,
)
from schedules.services.top_rules import BUBBLE_RANGE
from studio.services.kiln_response import SECONDS_PER_HOUR

_TOO_HOT = 60.0
"""°C above the range of an anneal soak up to which a hold was meant as one."""


def add_soak(case: Case, remark: Remark) -> Iterator[Trial]:
    """A hold where the way down passes the soak already, a hold that lies too hot moved there, or a
    segment of its own.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load, Remedy
    >>> plan = (Segment(150.0, 670.0, 600.0), Segment(80.0, 425.0))
    >>> case = Case(plan, "slump", Load(anneal_soak=548.0), KilnLimits(930.0))
    >>> remark = Remark("no_soak", "warn", None, 0.0, 3400.0, Remedy("add_soak", 3400.0))
    >>> [each[1] for each in add_soak(case, remark)]
    [Segment(rate=None, target=548.0, hold=3600.0)]
    """
    low, high = soak_range(case)
    hold, first = keyed_hold(value_of(remark)), first_of_the_way_down(case)
    soak = soak_shown(case)
    way_down = range(first, len(case.segments))
    for index in way_down:
        if low <= case.targets[index] <= high:
            yield with_change(case, index, hold=hold)
    for index in way_down:
        is_held = case.segments[index].hold >= SHORTEST_SOAK * value_of(remark)
        if is_held and high < case.targets[index] <= high + _TOO_HOT:
            yield with_change(case, index, target=soak)
    colder = (index for index in way_down if case.segments[index].target < soak)
    yield inserted(case, next(colder, len(case.segments)), Segment(None, soak, hold))


def add_bubble_hold(case: Case, remark: Remark) -> Iterator[Trial]:
    """A longer hold where one is below the sealing of the edges, or a segment of its own.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load, Remedy
    >>> case = Case((Segment(300.0, 804.0, 600.0),), "full_fuse", Load(), KilnLimits(930.0))
    >>> remark = Remark("bubble_hold_short", "note", None, 600.0, 900.0,
    ...                 Remedy("add_bubble_hold", 1800.0))
    >>> [each[0] for each in add_bubble_hold(case, remark)]
    [Segment(rate=300.0, target=685.0, hold=1800.0)]
    """
    yield from _held_on_the_way_up(
        case, bubble_temperature(case.load.glass), BUBBLE_RANGE, value_of(remark)
    )


def add_drying_hold(case: Case, remark: Remark) -> Iterator[Trial]:
    """A longer hold where one dries the mould already, a segment of its own, or, where there is no
    room for one, so slow a rise that the mould dries on the way.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load, Remedy
    >>> case = Case((Segment(300.0, 860.0, 5400.0),), "cast", Load(mould="plaster_silica"),
    ...             KilnLimits(930.0))
    >>> remark = Remark("mould_not_dried", "note", None, 2520.0, 3600.0,
    ...                 Remedy("add_drying_hold", 7200.0))
    >>> of_its_own, slow, *_ = add_drying_hold(case, remark)
    >>> of_its_own[0]
    Segment(rate=300.0, target=200.0, hold=7200.0)
    >>> slow
    (Segment(rate=210.0, target=860.0, hold=5400.0),)
    """
    low, high = DRYING_RANGE
    yield from _held_on_the_way_up(case, MOULD_DRY, DRYING_RANGE, value_of(remark))
    crossing = _first_beyond(case, high)
    if crossing is not None and remark.limit:
        for share in SLOWER:
            rate = (high - low) / remark.limit * SECONDS_PER_HOUR
            yield from slower(case, crossing, rate * share)


def _held_on_the_way_up(
    case: Case, temperature: float, between: tuple[float, float], hold: float
) -> Iterator[Trial]:
    """A longer hold where there is a target in the range, °C of the glass, or one of its own at a
    temperature in it."""
    low, high = between
    kiln, keyed = case.kiln, keyed_hold(hold)
    for index in range(case.top + 1):
        if low <= case.targets[index] <= high and case.segments[index].hold < keyed:
            yield with_change(case, index, hold=keyed)
    target = keyed_target(temperature - kiln.offset, kiln.unit, kiln.resolution)
    crossing = _first_beyond(case, high)
    if crossing is not None:
        yield inserted(case, crossing, Segment(case.segments[crossing].rate, target, keyed))


def _first_beyond(case: Case, temperature: float) -> int | None:
    """Index of the first segment up to the top that goes beyond a temperature of the glass, °C."""
    rising = range(case.top + 1)
    return next((index for index in rising if case.targets[index] > temperature), None)
