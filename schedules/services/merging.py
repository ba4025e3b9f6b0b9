"""Joins segments of a schedule, so that a controller takes them all."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from schedules.services.case import ROOM, Case
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

Kind = Literal["left_out", "one_hold", "joined"]


@dataclass(frozen=True, slots=True)
class MergeStep:
    """What became of some segments.

    Attributes
    ----------
    kind : "left_out" where the kiln left to itself cools no faster than the last segment,
        "one_hold" where a hold was written in parts, "joined" where neighbours go on at the slower
        of their rates
    segments : their indexes in the schedule as it was
    rate : °C/h of what they became, None for full power; None for what is left out
    """

    kind: Kind
    segments: tuple[int, ...]
    rate: float | None = None


@dataclass(frozen=True)
class Merging:
    """One way to make a schedule shorter.

    Attributes
    ----------
    segments : the schedule as it then is
    steps : what was done, in the order of the segments
    longer : s by which the firing takes longer to the end of the last segment that both have; None
        where that is not known
    """

    segments: tuple[Segment, ...]
    steps: tuple[MergeStep, ...]
    longer: float | None


@dataclass(frozen=True, slots=True)
class _Part:
    """A segment with the indexes of those that it was made of."""

    segment: Segment
    made_of: tuple[int, ...]
    one_hold: bool = False


_Plan = list[_Part]
_Pairs = Callable[[_Plan, float], Iterator[int]]


def merges(
    segments: Sequence[Segment],
    limit: int,
    response: KilnResponse | None,
    *,
    start: float | None = None,
    longest_hold: float | None = None,
) -> tuple[Merging, ...]:
    """The ways to bring a schedule down to as many segments as a controller takes.

    First goes what changes nothing: the last segment, where the kiln left to itself cools no
    faster, and the parts of a hold, where the controller takes it whole. Then neighbours that go
    the same way without a hold between them become one, at the slower of their rates; each time
    those that cost least time. A fall to a hold, as the anneal soak, and the fall from the top are
    never joined: no cooling becomes faster and no soak shorter.

    Parameters
    ----------
    segments : the schedule
    limit : how many segments the controller takes
    response : of the kiln; None where it is not known
    start : °C at which the kiln starts; by default its room's, or 20
    longest_hold : s, the longest hold that the controller takes; None for any

    Returns
    -------
    The way by the cooling first, which only takes longer; then that by the heating first, where it
    is another one. Empty where the controller takes all, and where there is no way with care.

    Raises
    ------
    ValueError
        As `planned_curve`, where there is a response.

    Examples
    --------
    >>> plan = [Segment(150.0, 540.0), Segment(300.0, 804.0, 600.0), Segment(None, 482.0, 3600.0),
    ...         Segment(80.0, 427.0), Segment(145.0, 371.0)]
    >>> by_cooling, by_heating = merges(plan, 4, KilnResponse(1200.0, 3600.0, 7200.0))
    >>> by_cooling.segments[-1], by_cooling.steps, round(by_cooling.longer / 60)
    ... # doctest: +NORMALIZE_WHITESPACE
    (Segment(rate=80.0, target=371.0, hold=0.0),
     (MergeStep(kind='joined', segments=(3, 4), rate=80.0),), 19)
    >>> by_heating.segments[0]
    Segment(rate=150.0, target=804.0, hold=600.0)
    """
    if len(segments) <= limit or limit < 1:
        return ()
    if start is None:
        start = ROOM if response is None else response.ambient
    whole = [_Part(segment, (index,)) for index, segment in enumerate(segments)]
    left_out = _ends_by_itself(segments, response)
    if left_out:
        del whole[-1]
    whole = _held_together(whole, limit, start, longest_hold)
    found: list[Merging] = []
    for order in ((_falling, _rising), (_rising, _falling)):
        plan = _joined(whole, limit, start, response, order)
        if plan is None:
            continue
        steps = tuple(_steps(plan))
        if left_out:
            steps = (*steps, MergeStep("left_out", (len(segments) - 1,)))
        joined = tuple(part.segment for part in plan)
        kept = segments[:-1] if left_out else segments
        merging = Merging(joined, steps, _longer(kept, joined, response, start))
        if merging not in found:
            found.append(merging)
    return tuple(found)


def merged(case: Case, count: int) -> tuple[Segment, ...] | None:
    """A schedule in its kiln with `count` segments fewer, the first way that `merges` finds; None
    where there is none.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> plan = (Segment(150.0, 804.0, 600.0), Segment(None, 482.0, 3600.0),
    ...         Segment(80.0, 427.0), Segment(145.0, 371.0))
    >>> merged(Case(plan, "full_fuse", Load(), KilnLimits(930.0, 3)), 1)[-1]
    Segment(rate=80.0, target=371.0, hold=0.0)
    """
    kiln = case.kiln
    found = merges(
        case.segments,
        len(case.segments) - count,
        kiln.response,
        start=case.start,
        longest_hold=kiln.longest_hold,
    )
    return found[0].segments if found else None


def _ends_by_itself(segments: Sequence[Segment], response: KilnResponse | None) -> bool:
    """Whether the last segment is a fall that the kiln does not make faster by itself."""
    if len(segments) < 2:
        return False
    before, last = segments[-2:]
    if last.hold > 0 or last.target >= before.target:
        return False
    if last.rate is None:
        return True
    return response is not None and response.fall_at(before.target) <= last.rate


def _held_together(plan: _Plan, limit: int, start: float, longest: float | None) -> _Plan:
    """The parts of a hold as one, as long as there are too many segments."""
    plan = list(plan)
    index = 0
    while len(plan) > limit and index < len(plan) - 1:
        first, second = plan[index].segment, plan[index + 1].segment
        hold = first.hold + second.hold
        if first.target == second.target and hold <= (inf if longest is None else longest):
            made_of = plan[index].made_of + plan[index + 1].made_of
            plan[index : index + 2] = [_Part(replace(first, hold=hold), made_of, one_hold=True)]
        else:
            index += 1
    return plan


def _joined(
    plan: _Plan,
    limit: int,
    start: float,
    response: KilnResponse | None,
    order: Sequence[_Pairs],
) -> _Plan | None:
    """With neighbours joined until the controller takes them all; None where they don't go."""
    plan = list(plan)
    while len(plan) > limit:
        choices = (list(pairs(plan, start)) for pairs in order)
        pairs = next((found for found in choices if found), None)
        if pairs is None:
            return None
        cheapest = min(pairs, key=lambda index: (_cost(plan, index, start, response), -index))
        first, second = plan[cheapest : cheapest + 2]
        rate = _slower(first.segment.rate, second.segment.rate)
        plan[cheapest : cheapest + 2] = [
            _Part(replace(second.segment, rate=rate), first.made_of + second.made_of)
        ]
    return plan


def _falling(plan: _Plan, start: float) -> Iterator[int]:
    """Indexes of the first of two falls without a hold; that from the top stays a fall by itself,
    as the glass goes on changing there."""
    top = max(part.segment.target for part in plan)
    for index in _without_hold_between(plan):
        if plan[index + 1].segment.hold == 0:
            before = _before(plan, index, start)
            if before == top:
                continue
            if before > plan[index].segment.target > plan[index + 1].segment.target:
                yield index


def _rising(plan: _Plan, start: float) -> Iterator[int]:
    """Indexes of the first of two ramps upwards without a hold between them."""
    for index in _without_hold_between(plan):
        before = _before(plan, index, start)
        if before < plan[index].segment.target < plan[index + 1].segment.target:
            yield index


def _without_hold_between(plan: _Plan) -> list[int]:
    return [index for index in range(len(plan) - 1) if plan[index].segment.hold == 0]


def _before(plan: _Plan, index: int, start: float) -> float:
    return plan[index - 1].segment.target if index else start


def _slower(first: float | None, second: float | None) -> float | None:
    return min((rate for rate in (first, second) if rate is not None), default=None)


def _cost(plan: _Plan, index: int, start: float, response: KilnResponse | None) -> float:
    """Hours that joining two segments takes longer."""
    before, (first, second) = _before(plan, index, start), plan[index : index + 2]
    between, end = first.segment.target, second.segment.target
    rate = _slower(first.segment.rate, second.segment.rate)

    def hours(begin: float, end: float, own: float | None) -> float:
        fastest = inf if own is None else own
        if response is not None:
            level = (begin + end) / 2
            fastest = min(fastest, max(_fastest(response, level, falling=end < begin), 1e-6))
        return abs(end - begin) / fastest

    return (
        hours(before, between, rate)
        + hours(between, end, rate)
        - hours(before, between, first.segment.rate)
        - hours(between, end, second.segment.rate)
    )


def _fastest(response: KilnResponse, level: float, *, falling: bool) -> float:
    return response.fall_at(level) if falling else response.rise_at(level)


def _steps(plan: _Plan) -> Iterator[MergeStep]:
    for part in plan:
        if len(part.made_of) > 1:
            kind: Kind = "one_hold" if part.one_hold else "joined"
            yield MergeStep(kind, part.made_of, part.segment.rate)


def _longer(
    before: Sequence[Segment],
    after: Sequence[Segment],
    response: KilnResponse | None,
    start: float,
) -> float | None:
    if response is None:
        return None
    was = planned_curve(before, response, start).duration
    now = planned_curve(after, response, start).duration
    return None if was is None or now is None else now - was
