"""What may be tried to mend a remark, the smallest change first: one function for each act that a
remedy names."""

from collections.abc import Callable, Iterator
from math import isfinite

from schedules.services.case import Case, Remark
from schedules.services.cooling_trials import add_cooling, leave_less_stress, with_cooling
from schedules.services.crystal_trials import pass_crystals
from schedules.services.hold_trials import add_bubble_hold, add_drying_hold, add_soak
from schedules.services.keyable import keyed_hold, keyed_target
from schedules.services.merging import merged
from schedules.services.plan_changes import SLOWER, Trial, slower, stairs, value_of, with_change
from studio.services.kiln_response import SECONDS_PER_HOUR

_SLACK = 1e-6
"""°C that arithmetic may add to a temperature."""


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
    >>> from schedules.services.curve import Segment
    >>> case = Case((Segment(150.0, 950.0, 600.0),), "full_fuse", Load(), KilnLimits(927.5))
    >>> remark = Remark("target_above_kiln_limit", "block", 0, 950.0, 927.5,
    ...                 Remedy("lower_target", 927.5))
    >>> next(trials(case, remark))
    (Segment(rate=150.0, target=927.0, hold=600.0),)
    """
    act = None if remark.remedy is None else _ACTS.get(remark.remedy.act)
    if act is not None:
        yield from act(case, remark)


def _lower_target(case: Case, remark: Remark) -> Iterator[Trial]:
    yield from _targets(case, remark, -1)


def _raise_target(case: Case, remark: Remark) -> Iterator[Trial]:
    yield from _targets(case, remark, 1)


def _targets(case: Case, remark: Remark, sign: int) -> Iterator[Trial]:
    """The nearest round target that is on the right side of the value, and the next beyond."""
    unit, step, value = case.kiln.unit, case.kiln.resolution, value_of(remark)
    nearest = keyed_target(value, unit, step)
    beyond = (nearest - value) * sign >= -_SLACK
    for steps in (0, 1) if beyond else (1, 2):
        target = keyed_target(nearest + sign * steps * step, unit, step)
        yield with_change(case, _segment(remark), target=target)


def _segment(remark: Remark) -> int:
    if remark.segment is None:
        raise ValueError(f"{remark.code} names no segment.")
    return remark.segment


def _set_hold(case: Case, remark: Remark) -> Iterator[Trial]:
    """The figure of a soak is that of all its holds: one of them is made longer by what lacks."""
    index, wanted = _segment(remark), value_of(remark)
    own = case.segments[index].hold
    if remark.figure is not None and isfinite(remark.figure) and isfinite(own):
        wanted += own - remark.figure
    yield with_change(case, index, hold=keyed_hold(max(wanted, 0.0)))


def _set_rate(case: Case, remark: Remark) -> Iterator[Trial]:
    index, limit = _segment(remark), value_of(remark)
    own = case.segments[index].rate
    if own is not None and own < limit:  # too slow to be keyed
        yield from stairs(case, index, own)
        return
    for share in SLOWER:
        yield from slower(case, index, limit * share)


def _give_positive_rate(case: Case, remark: Remark) -> Iterator[Trial]:
    """A rate below 0 was meant for a fall, whose direction its target tells."""
    index = _segment(remark)
    rate = case.segments[index].rate
    if rate is not None and isfinite(rate) and rate < 0:
        yield with_change(case, index, rate=-rate)


def _slow_down(case: Case, remark: Remark) -> Iterator[Trial]:
    """By as much as the figure is beyond its limit; after the last segment by one more."""
    if case.curve is None or not remark.limit or not (remark.figure or 0.0) > remark.limit:
        return
    share = remark.limit / (remark.figure or remark.limit)
    if remark.segment is None:
        fall = case.curve.response.fall_at(case.segments[-1].target)
        yield from with_cooling(case, fall * share)
        return
    index = remark.segment
    span = case.curve.spans[index]
    start = float(case.curve.at(span.ramp_start))
    way, seconds = abs(case.segments[index].target - start), span.hold_start - span.ramp_start
    if seconds > 0:
        for each in SLOWER:
            yield from slower(case, index, way / seconds * SECONDS_PER_HOUR * share * each)


def _leave_out(case: Case, remark: Remark) -> Iterator[Trial]:
    """A segment that neither moves nor holds does nothing."""
    index = _segment(remark)
    yield (*case.segments[:index], *case.segments[index + 1 :])


def _merge(case: Case, remark: Remark) -> Iterator[Trial]:
    joined = merged(case, int(value_of(remark)))
    if joined is not None:
        yield joined


_ACTS: dict[str, Callable[[Case, Remark], Iterator[Trial]]] = {
    "add_bubble_hold": add_bubble_hold,
    "add_cooling": add_cooling,
    "add_drying_hold": add_drying_hold,
    "add_soak": add_soak,
    "give_positive_rate": _give_positive_rate,
    "leave_less_stress": leave_less_stress,
    "lower_target": _lower_target,
    "merge_segments": _merge,
    "move_or_hold_target": _leave_out,
    "pass_crystals": pass_crystals,
    "raise_target": _raise_target,
    "set_hold": _set_hold,
    "set_rate": _set_rate,
    "slow_down": _slow_down,
}
