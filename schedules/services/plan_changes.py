"""A schedule with one segment changed, added or made slower: what trials are put together from."""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from schedules.services.case import Case, Remark
from schedules.services.curve import Segment
from schedules.services.draft_fitting import in_stairs
from schedules.services.drafted import DraftedSegment, NoDraftError, Reason
from schedules.services.drafting import soak_temperature
from schedules.services.keyable import keyed_rate, keyed_target

Rule = Callable[[Case], Iterator[Remark]]
Trial = tuple[Segment, ...]

SLOWER = (1.0, 0.9, 0.8, 0.65, 0.5, 0.35, 0.25)
"""Shares of a rate to try where the first does not satisfy yet."""


def value_of(remark: Remark) -> float:
    """What the remedy asks for.

    Raises
    ------
    ValueError
        Where it names no value.

    Examples
    --------
    >>> from schedules.services.case import Remedy
    >>> value_of(Remark("heating_fast", "warn", 0, 400.0, 150.0, Remedy("set_rate", 150.0)))
    150.0
    """
    if remark.remedy is None or remark.remedy.value is None:
        raise ValueError(f"{remark.code} names no value.")
    return remark.remedy.value


def soak_shown(case: Case) -> float:
    """°C of the display at which the load is soaked, as the controller takes it.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> soak_shown(Case((), "slump", Load(anneal_soak=548.0), KilnLimits(930.0, offset=7.4)))
    541.0
    """
    kiln = case.kiln
    return keyed_target(soak_temperature(case)[0] - kiln.offset, kiln.unit, kiln.resolution)


def with_change(case: Case, index: int, **changes: float | None) -> Trial:
    """The schedule with some fields of one segment changed.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> case = Case((Segment(150.0, 540.0),), "slump", Load(), KilnLimits(930.0))
    >>> with_change(case, 0, rate=100.0)
    (Segment(rate=100.0, target=540.0, hold=0.0),)
    """
    changed = replace(case.segments[index], **changes)  # type: ignore[arg-type]
    return (*case.segments[:index], changed, *case.segments[index + 1 :])


def inserted(case: Case, index: int, segment: Segment) -> Trial:
    """The schedule with one segment more, before that at `index`.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> case = Case((Segment(150.0, 804.0),), "slump", Load(), KilnLimits(930.0))
    >>> [each.target for each in inserted(case, 0, Segment(150.0, 540.0))]
    [540.0, 804.0]
    """
    return (*case.segments[:index], segment, *case.segments[index:])


def slower(case: Case, index: int, rate: float) -> Iterator[Trial]:
    """The schedule with a segment at a round rate no faster than `rate`, °C/h, or in stairs where
    the controller's smallest step is faster; none where it has no room for those.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> case = Case((Segment(150.0, 540.0),), "slump", Load(), KilnLimits(930.0))
    >>> list(slower(case, 0, 118.3))
    [(Segment(rate=115.0, target=540.0, hold=0.0),)]
    """
    keyed = keyed_rate(rate, case.kiln.unit, case.kiln.resolution)
    if keyed is None:
        yield from stairs(case, index, rate)
    else:
        yield with_change(case, index, rate=keyed)


def stairs(case: Case, index: int, rate: float) -> Iterator[Trial]:
    """The schedule with short falls or rises and holds for one segment at `rate`, °C/h; none where
    the controller has no room for them.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> plan = (Segment(150.0, 482.0), Segment(0.5, 480.0))
    >>> [steps] = stairs(Case(plan, "anneal_only", Load(), KilnLimits(930.0)), 1, 0.5)
    >>> [(each.rate, each.target, each.hold / 3600) for each in steps[1:]]
    [(None, 480.0, 4.0)]
    """
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


def least(case: Case, plans: Sequence[Trial], rule: Rule) -> Iterator[Trial]:
    """The first of `plans` of which `rule` says nothing, if there is one. Each is to be further
    from the schedule than the one before, and so the better for it: it is found by halving.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.heating_rules import heating
    >>> case = Case((Segment(400.0, 540.0),), "slump", Load(), KilnLimits(930.0))
    >>> plans = [(Segment(rate, 540.0),) for rate in (350.0, 300.0, 250.0, 200.0)]
    >>> list(least(case, plans, heating))
    [(Segment(rate=250.0, target=540.0, hold=0.0),)]
    """

    def is_sound(plan: Trial) -> bool:
        return not any(rule(replace(case, segments=plan)))

    first = bisect_left(plans, True, key=is_sound)
    yield from plans[first : first + 1]
