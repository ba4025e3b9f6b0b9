"""Joins segments of a schedule, so that a controller takes them all."""

from dataclasses import replace

from schedules.services.case import Case
from schedules.services.curve import Segment


def merged(case: Case, count: int) -> tuple[Segment, ...] | None:
    """With `count` segments fewer, or None where that can't be done with care.

    The last segment is left out first, where the kiln left to itself cools no faster. Then
    neighbours that go the same way without a hold between them become one, at the slower of their
    rates: the later stages of cooling first, whose joining only takes longer, then those of the
    heating. A fall to a hold, as the anneal soak, is never joined.

    Parameters
    ----------
    case : the schedule with its kiln
    count : how many segments are too many

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> plan = (Segment(150.0, 804.0, 600.0), Segment(None, 482.0, 3600.0),
    ...         Segment(80.0, 427.0), Segment(145.0, 371.0))
    >>> merged(Case(plan, "full_fuse", Load(), KilnLimits(930.0, 3)), 1)[-1]
    Segment(rate=80.0, target=371.0, hold=0.0)
    """
    plan = list(case.segments)
    wanted = len(plan) - count
    if wanted < 1:
        return None
    if _ends_by_itself(case):
        del plan[-1]
    while len(plan) > wanted:
        index = _mergeable(plan, case.start)
        if index is None:
            return None
        first, second = plan[index : index + 2]
        rates = [each.rate for each in (first, second) if each.rate is not None]
        plan[index : index + 2] = [replace(second, rate=min(rates, default=None))]
    return tuple(plan)


def _ends_by_itself(case: Case) -> bool:
    """Whether the last segment is a fall that the kiln does not make faster by itself."""
    if len(case.segments) < 2:
        return False
    before, last = case.segments[-2:]
    if last.hold > 0 or last.target >= before.target:
        return False
    if last.rate is None:
        return True
    response = case.kiln.response
    return response is not None and response.fall_at(before.target) <= last.rate


def _mergeable(plan: list[Segment], start: float) -> int | None:
    """Index of the first of two neighbours that may become one."""
    befores = [start, *(each.target for each in plan)]

    def falls(index: int) -> bool:
        return plan[index].target < befores[index]

    pairs = [
        index
        for index in range(len(plan) - 1)
        if plan[index].hold == 0 and falls(index) == falls(index + 1)
    ]
    down = [index for index in reversed(pairs) if falls(index) and plan[index + 1].hold == 0]
    up = [index for index in reversed(pairs) if not falls(index)]
    return next(iter((*down, *up)), None)
