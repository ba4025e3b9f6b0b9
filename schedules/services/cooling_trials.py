"""What may be tried where a piece is cooled so that stress is left."""

from collections.abc import Iterator
from dataclasses import replace

from schedules.services.anneal_plan import SOAK_PER_METRE, StageRule
from schedules.services.annealing_rules import (
    anneal_soaks,
    cooling,
    cools_after,
    under_way,
    widest_on_the_way_down,
)
from schedules.services.case import Case, Remark
from schedules.services.curve import Segment
from schedules.services.keyable import keyed_hold, keyed_rates, keyed_target
from schedules.services.plan_changes import SLOWER, Trial, least, slower, value_of, with_change
from studio.services.kiln_response import SECONDS_PER_HOUR

_HALF, _LEAST = 1 / 2, 1 / 8
"""Of a stage's rate: what it may be slowed to before a longer soak is the smaller change, and the
slowest that is tried at all."""
_LONGER = 3.0
"""Times its length, or what practice gives the thickness, that a soak may be made."""


def add_cooling(case: Case, remark: Remark) -> Iterator[Trial]:
    """One more segment at the rate that the remedy names, °C/h, and at slower ones.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load, Remedy
    >>> case = Case((Segment(150.0, 548.0, 3600.0),), "anneal_only", Load(), KilnLimits(930.0))
    >>> remark = Remark("free_cooling_fast", "warn", None, 150.0, 63.0, Remedy("add_cooling", 63.0))
    >>> [plan[1].rate for plan in add_cooling(case, remark)][:3]
    [60.0, 55.0, 50.0]
    """
    for share in SLOWER:
        yield from with_cooling(case, value_of(remark) * share)


def with_cooling(case: Case, rate: float) -> Iterator[Trial]:
    """One more segment at `rate`, °C/h, down to where stress is settled.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> case = Case((Segment(150.0, 548.0, 3600.0),), "anneal_only", Load(), KilnLimits(930.0))
    >>> [each[1] for each in with_cooling(case, 63.0)]
    [Segment(rate=60.0, target=466.0, hold=0.0)]
    """
    kiln, last = case.kiln, case.segments[-1].target
    settled = StageRule().first_end(last + kiln.offset, case.load.glass) - kiln.offset
    target = keyed_target(settled, kiln.unit, kiln.resolution)
    longer = replace(case, segments=(*case.segments, Segment(rate, target)))
    yield from slower(longer, len(case.segments), rate)


def leave_less_stress(case: Case, remark: Remark) -> Iterator[Trial]:
    """A slower stage of cooling, or a longer soak, whichever is the smaller change.

    What a fall brought into the soak flows away in a longer soak as well as in a slower stage; so
    the stage in which the difference is widest is slowed to no less than half, then the soak is
    made longer, and only then the stage is slowed further.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from studio.services.glass import Glass
    >>> load = Load(Glass(493.0, 532.0, 677.0), thickest=0.025, thinnest=0.025)
    >>> plan = (Segment(27.0, 670.0), Segment(None, 482.0, 7200.0), Segment(15.0, 427.0))
    >>> case = Case(plan, "slump", load, KilnLimits(930.0))
    >>> [remark] = cooling(case)
    >>> remark.code, next(leave_less_stress(case, remark))[2].rate
    ('stress_left', 9.0)
    """
    index = _stage(case)
    yield from least(case, _slowed(case, index, 1.0, _HALF), cooling)
    yield from least(case, _soaked_longer(case), cooling)
    yield from least(case, _slowed(case, index, _HALF, _LEAST), cooling)


def _stage(case: Case) -> int | None:
    """Index of the segment after the soak in which the difference is widest; None where that is
    after the last one."""
    index = under_way(case, widest_on_the_way_down(case)[1])
    first = cools_after(case) + 1
    if index is None or first == len(case.segments):
        return None
    return max(index, first)


def _slowed(case: Case, index: int | None, most: float, least_share: float) -> list[Trial]:
    """With the segment, or one more after the last, at every round rate between two shares of what
    the kiln falls at now; the fastest first."""
    curve, kiln = case.curve, case.kiln
    if curve is None:
        return []
    if index is None:
        now = curve.response.fall_at(case.segments[-1].target)
    else:
        span = curve.spans[index]
        fall = float(curve.at(span.ramp_start)) - case.segments[index].target
        seconds = span.hold_start - span.ramp_start
        now = fall / seconds * SECONDS_PER_HOUR if seconds > 0 else 0.0
    if now <= 0:
        return []
    rates = keyed_rates(now * most, now * least_share, kiln.unit, kiln.resolution)
    if index is None:
        return [plan for rate in rates for plan in with_cooling(case, rate)]
    return [with_change(case, index, rate=rate) for rate in rates]


def _soaked_longer(case: Case) -> list[Trial]:
    """With its last soak at every round length up to the longest that is tried."""
    index = cools_after(case)
    if index not in anneal_soaks(case):
        return []
    own = case.segments[index].hold
    longest = max(_LONGER * own, SOAK_PER_METRE * case.thickness.by_factor / case.faces)
    plans, hold = [], keyed_hold(own + 1.0)
    while hold <= longest:
        plans.append(with_change(case, index, hold=hold))
        hold = keyed_hold(hold + 1.0)
    return plans
