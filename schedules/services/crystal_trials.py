"""What may be tried where glass is long in the range where crystals grow, on its way to a top that
lies above it and back."""

from collections.abc import Iterator
from dataclasses import replace

from schedules.services.anneal_plan import SOAK_PER_METRE
from schedules.services.annealing_rules import anneal_soaks, soak_range
from schedules.services.case import Case, Remark
from schedules.services.curve import Segment
from schedules.services.drafting import ABOVE_STRAIN, TOP_RATE
from schedules.services.keyable import keyed_hold, keyed_on_the_way, keyed_rates
from schedules.services.plan_changes import Trial, inserted, least, soak_shown, with_change
from schedules.services.process_ranges import DEVITRIFICATION
from schedules.services.top_rules import devitrification

_HOLD_STEP = 300.0
"""s by which a hold is made shorter."""


def pass_crystals(case: Case, remark: Remark) -> Iterator[Trial]:
    """A faster rise through the range, full power down through it to the target or to the soak, or
    a shorter hold in it.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.curve import Segment
    >>> plan = (Segment(100.0, 670.0), Segment(30.0, 804.0, 600.0), Segment(150.0, 540.0, 3600.0))
    >>> case = Case(plan, "full_fuse", Load(), KilnLimits(930.0))
    >>> [remark] = devitrification(case)
    >>> [(each[1].rate, each[2].rate) for each in pass_crystals(case, remark)]
    [(100.0, 150.0), (30.0, None)]
    """
    starts = (case.start + case.kiln.offset, *case.targets)
    crossing = [
        index
        for index, end in enumerate(case.targets)
        if min(starts[index], end) < DEVITRIFICATION.high
        and max(starts[index], end) > DEVITRIFICATION.low
        and case.segments[index].rate is not None
    ]
    for index in crossing:
        if starts[index] < case.targets[index]:
            yield from least(case, _faster(case, index, starts[index]), devitrification)
    for index in crossing:
        if starts[index] > case.targets[index]:
            yield from _fallen_faster(case, index)
    for index, target in enumerate(case.targets):
        if target in DEVITRIFICATION and index != case.top:
            yield from least(case, _held_shorter(case, index), devitrification)


def _faster(case: Case, index: int, start: float) -> list[Trial]:
    """With a rise at every round rate up to what practice gives a fusing top, the slowest first.
    Up to where glass is past breaking it stays as slow as it is."""
    own, kiln = case.segments[index].rate, case.kiln
    if own is None:
        return []
    rates = keyed_rates(TOP_RATE, own, kiln.unit, kiln.resolution)
    plans = [with_change(case, index, rate=rate) for rate in reversed(rates) if rate > own]
    glass = case.load.glass
    if start >= glass.strain_point:
        return plans
    past_breaking = keyed_on_the_way(
        glass.strain_point + ABOVE_STRAIN - kiln.offset, kiln.unit, kiln.resolution
    )
    return [
        inserted(replace(case, segments=plan), index, Segment(own, past_breaking)) for plan in plans
    ]


def _fallen_faster(case: Case, index: int) -> Iterator[Trial]:
    """At full power as far as the soak and no further: to a target above it, or by a segment of its
    own before the fall goes on as it is, held at the soak where nothing is held there yet."""
    if case.targets[index] >= soak_range(case)[0]:
        yield with_change(case, index, rate=None)
        return
    length = SOAK_PER_METRE * case.thickness.by_factor / case.faces
    hold = 0.0 if anneal_soaks(case) else keyed_hold(length)
    yield inserted(case, index, Segment(None, soak_shown(case), hold))


def _held_shorter(case: Case, index: int) -> list[Trial]:
    """With a hold of every round length below its own, the longest first."""
    steps = range(int(case.segments[index].hold // _HOLD_STEP), -1, -1)
    own = case.segments[index].hold
    holds = (_HOLD_STEP * step for step in steps)
    return [with_change(case, index, hold=hold) for hold in holds if hold < own]
