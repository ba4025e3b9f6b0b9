"""What may be tried to mend a remark, the smallest change first: one function for each act that a
remedy names."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import isfinite

from schedules.services.anneal_plan import StageRule
from schedules.services.annealing_rules import (
    SHORTEST_SOAK,
    first_of_the_way_down,
    soak_range,
)
from schedules.services.case import Case, Remark
from schedules.services.curve import Segment
from schedules.services.draft_fitting import in_stairs
from schedules.services.drafted import DraftedSegment, NoDraftError, Reason
from schedules.services.drafting import bubble_temperature, soak_temperature
from schedules.services.keyable import keyed_hold, keyed_rate, keyed_target
from schedules.services.merging import merged
from schedules.services.top_rules import BUBBLE_RANGE
from studio.services.kiln_response import SECONDS_PER_HOUR

Trial = tuple[Segment, ...]

_SLACK = 1e-6
"""°C that arithmetic may add to a temperature."""
_TOO_HOT = 60.0
"""°C above the range of an anneal soak up to which a hold was meant as one."""
_SLOWER = (1.0, 0.9, 0.8, 0.65, 0.5, 0.35, 0.25)
"""Shares of a rate to try where the first does not satisfy yet."""


def trials(case: Case, remark: Remark) -> Iterator[Trial]:
    """Schedules that may satisfy the remark, the smallest change first; none for an act that is not
    a matter of numbers.

    Parameters
    ----------
    case : the schedule with its load and its kiln
    remark : with its remedy

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load, Remedy
    >>> case = Case((Segment(150.0, 950.0, 600.0),), "full_fuse", Load(), KilnLimits(927.5))
    >>> remark = Remark("target_above_kiln_limit", "block", 0, 950.0, 927.5,
    ...                 Remedy("lower_target", 927.5))
    >>> next(trials(case, remark))
    (Segment(rate=150.0, target=927.0, hold=600.0),)
    """
    act = None if remark.remedy is None else _ACTS.get(remark.remedy.act)
    if act is not None:
        yield from act(case, remark)


def _value(remark: Remark) -> float:
    """What the remedy asks for."""
    if remark.remedy is None or remark.remedy.value is None:
        raise ValueError(f"{remark.code} names no value.")
    return remark.remedy.value


def _with(case: Case, index: int, **changes: float | None) -> Trial:
    changed = replace(case.segments[index], **changes)  # type: ignore[arg-type]
    return (*case.segments[:index], changed, *case.segments[index + 1 :])


def _inserted(case: Case, index: int, segment: Segment) -> Trial:
    return (*case.segments[:index], segment, *case.segments[index:])


def _lower_target(case: Case, remark: Remark) -> Iterator[Trial]:
    yield from _targets(case, remark, -1)


def _raise_target(case: Case, remark: Remark) -> Iterator[Trial]:
    yield from _targets(case, remark, 1)


def _targets(case: Case, remark: Remark, sign: int) -> Iterator[Trial]:
    """The nearest round target that is on the right side of the value, and the next beyond."""
    unit, step, value = case.kiln.unit, case.kiln.resolution, _value(remark)
    nearest = keyed_target(value, unit, step)
    beyond = (nearest - value) * sign >= -_SLACK
    for steps in (0, 1) if beyond else (1, 2):
        target = keyed_target(nearest + sign * steps * step, unit, step)
        yield _with(case, _segment(remark), target=target)


def _segment(remark: Remark) -> int:
    if remark.segment is None:
        raise ValueError(f"{remark.code} names no segment.")
    return remark.segment


def _set_hold(case: Case, remark: Remark) -> Iterator[Trial]:
    """The figure of a soak is that of all its holds: one of them is made longer by what lacks."""
    index, wanted = _segment(remark), _value(remark)
    own = case.segments[index].hold
    if remark.figure is not None and isfinite(remark.figure) and isfinite(own):
        wanted += own - remark.figure
    yield _with(case, index, hold=keyed_hold(max(wanted, 0.0)))


def _set_rate(case: Case, remark: Remark) -> Iterator[Trial]:
    index, limit = _segment(remark), _value(remark)
    own = case.segments[index].rate
    if own is not None and own < limit:  # too slow to be keyed
        yield from _stairs(case, index, own)
        return
    for share in _SLOWER:
        yield from _slower(case, index, limit * share)


def _slower(case: Case, index: int, rate: float) -> Iterator[Trial]:
    """At a round rate, or in stairs where the controller's smallest step is faster."""
    keyed = keyed_rate(rate, case.kiln.unit, case.kiln.resolution)
    if keyed is None:
        yield from _stairs(case, index, rate)
    else:
        yield _with(case, index, rate=keyed)


def _stairs(case: Case, index: int, rate: float) -> Iterator[Trial]:
    segment = case.segments[index]
    start = case.start if index == 0 else case.segments[index - 1].target
    why = Reason("slower_than_a_step", rate)
    slow = DraftedSegment(rate, segment.target, 0.0, why, why, why)
    if rate <= 0 or start == segment.target:
        return
    try:
        steps = [each.segment for each in in_stairs(slow, start, case.kiln)]
    except NoDraftError:
        return
    last = replace(steps[-1], hold=steps[-1].hold + segment.hold)
    yield (*case.segments[:index], *steps[:-1], last, *case.segments[index + 1 :])


def _give_positive_rate(case: Case, remark: Remark) -> Iterator[Trial]:
    """A rate below 0 was meant for a fall, whose direction its target tells."""
    index = _segment(remark)
    rate = case.segments[index].rate
    if rate is not None and isfinite(rate) and rate < 0:
        yield _with(case, index, rate=-rate)


def _slow_down(case: Case, remark: Remark) -> Iterator[Trial]:
    """By as much as the figure is beyond its limit; after the last segment by one more."""
    if case.curve is None or not remark.limit or not (remark.figure or 0.0) > remark.limit:
        return
    share = remark.limit / (remark.figure or remark.limit)
    if remark.segment is None:
        if remark.code == "tension_above_strength":
            fall = case.curve.response.fall_at(case.segments[-1].target)
            yield from _with_cooling(case, fall * share)
        return
    index = remark.segment
    span = case.curve.spans[index]
    start = float(case.curve.at(span.ramp_start))
    way, seconds = abs(case.segments[index].target - start), span.hold_start - span.ramp_start
    if seconds > 0:
        for each in _SLOWER:
            yield from _slower(case, index, way / seconds * SECONDS_PER_HOUR * share * each)


def _add_cooling(case: Case, remark: Remark) -> Iterator[Trial]:
    for share in _SLOWER:
        yield from _with_cooling(case, _value(remark) * share)


def _with_cooling(case: Case, rate: float) -> Iterator[Trial]:
    """One more segment, down to where stress is settled, or to where a load is lifted out."""
    kiln, last = case.kiln, case.segments[-1].target
    settled = StageRule().first_end(last + kiln.offset, case.load.glass) - kiln.offset
    target = keyed_target(settled, kiln.unit, kiln.resolution)
    longer = replace(case, segments=(*case.segments, Segment(rate, target)))
    yield from _slower(longer, len(case.segments), rate)


def _add_soak(case: Case, remark: Remark) -> Iterator[Trial]:
    """A hold where the way down passes the soak already, a hold that lies too hot moved there, or a
    segment of its own."""
    low, high = soak_range(case)
    hold, kiln, first = keyed_hold(_value(remark)), case.kiln, first_of_the_way_down(case)
    soak = keyed_target(soak_temperature(case)[0] - kiln.offset, kiln.unit, kiln.resolution)
    way_down = range(first, len(case.segments))
    for index in way_down:
        if low <= case.targets[index] <= high:
            yield _with(case, index, hold=hold)
    for index in way_down:
        is_held = case.segments[index].hold >= SHORTEST_SOAK * _value(remark)
        if is_held and high < case.targets[index] <= high + _TOO_HOT:
            yield _with(case, index, target=soak)
    colder = (index for index in way_down if case.segments[index].target < soak)
    yield _inserted(case, next(colder, len(case.segments)), Segment(None, soak, hold))


def _add_bubble_hold(case: Case, remark: Remark) -> Iterator[Trial]:
    """A longer hold where one is below the sealing of the edges, or a segment of its own."""
    low, high = BUBBLE_RANGE
    hold = keyed_hold(_value(remark))
    rising = range(case.top + 1)
    for index in rising:
        if low <= case.targets[index] <= high and case.segments[index].hold < hold:
            yield _with(case, index, hold=hold)
    kiln = case.kiln
    target = keyed_target(
        bubble_temperature(case.load.glass) - kiln.offset, kiln.unit, kiln.resolution
    )
    crossing = next((index for index in rising if case.targets[index] > high), None)
    if crossing is not None:
        yield _inserted(case, crossing, Segment(case.segments[crossing].rate, target, hold))


def _leave_out(case: Case, remark: Remark) -> Iterator[Trial]:
    """A segment that neither moves nor holds does nothing."""
    index = _segment(remark)
    yield (*case.segments[:index], *case.segments[index + 1 :])


def _merge(case: Case, remark: Remark) -> Iterator[Trial]:
    joined = merged(case, int(_value(remark)))
    if joined is not None:
        yield joined


_ACTS: dict[str, Callable[[Case, Remark], Iterator[Trial]]] = {
    "add_bubble_hold": _add_bubble_hold,
    "add_cooling": _add_cooling,
    "add_soak": _add_soak,
    "give_positive_rate": _give_positive_rate,
    "lower_target": _lower_target,
    "merge_segments": _merge,
    "move_or_hold_target": _leave_out,
    "raise_target": _raise_target,
    "set_hold": _set_hold,
    "set_rate": _set_rate,
    "slow_down": _slow_down,
}
