"""Makes a draft fit the controller: stairs for rates that it can't be given, fewer segments."""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from schedules.services.annealing import COOLING_DIFFERENCE
from schedules.services.case import KilnLimits
from schedules.services.drafted import DraftedSegment, NoDraftError, Reason
from schedules.services.keyable import hold_parts, keyed_hold, keyed_target
from studio.services.kiln_response import SECONDS_PER_HOUR

NEAR_ENOUGH = 1.1
"""Times a rate that a controller's smallest step may be and still stand for it: makers' own charts
differ by more from one thickness to the next."""


def in_stairs(each: DraftedSegment, start: float, kiln: KilnLimits) -> list[DraftedSegment]:
    """Short falls, each held, that come to the rate of a segment too slow to be keyed.

    No fall is larger than the temperature difference that the slow rate would have made.

    Raises
    ------
    NoDraftError
        "rate_below_step", where the stairs are more than the controller takes, or finer than it.
    """
    if each.rate is None:
        raise ValueError("Full power is never too slow.")
    fall = start - each.target
    count = ceil(abs(fall) / COOLING_DIFFERENCE)
    most = kiln.segments
    if (most is not None and count > most) or abs(fall) / count < kiln.resolution:
        raise NoDraftError("rate_below_step", each.rate)
    why = Reason("slower_than_a_step", each.rate)
    stairs = []
    before = start
    for number in range(1, count + 1):
        target = keyed_target(start - fall * number / count, kiln.unit, kiln.resolution)
        hold = keyed_hold(abs(before - target) / each.rate * SECONDS_PER_HOUR)
        stairs.append(
            replace(each, rate=None, target=target, hold=hold, why_rate=why, why_hold=why)
        )
        before = target
    return stairs


def in_holds(each: DraftedSegment, kiln: KilnLimits) -> list[DraftedSegment]:
    """A segment whose hold is longer than the controller takes, as several at one target."""
    first, *rest = hold_parts(each.hold, kiln.longest_hold)
    goes_on = Reason("hold_goes_on", first)
    more = [
        replace(each, rate=None, hold=hold, why_rate=goes_on, why_target=goes_on) for hold in rest
    ]
    return [replace(each, hold=first), *more]


def fitted(
    plan: Sequence[DraftedSegment], kiln: KilnLimits, anneal: int | None, start: float
) -> list[DraftedSegment]:
    """With neighbours merged, at the slower of their rates, until the controller takes them all.

    Each time those two are merged that cost least time.

    Parameters
    ----------
    plan : in the figures of the controller
    kiln : for how many segments it takes
    anneal : index of the anneal soak, which is never merged; None where there is none
    start : °C at which the first segment begins

    Raises
    ------
    NoDraftError
        "too_few_segments", where merging does not go so far.
    """
    result = list(plan)
    most = kiln.segments
    while most is not None and len(result) > most:
        pairs = _mergeable(result, anneal)
        if not pairs:
            raise NoDraftError("too_few_segments", len(result))
        starts = [start, *(each.target for each in result)]
        index = min(pairs, key=lambda first: _cost(starts[first], result[first : first + 2]))
        first, second = result[index], result[index + 1]
        merged = replace(
            second, rate=_slower(first, second), why_rate=Reason("merged_for_controller")
        )
        result[index : index + 2] = [merged]
        if anneal is not None and index < anneal:
            anneal -= 1
    return result


def _mergeable(plan: Sequence[DraftedSegment], anneal: int | None) -> list[int]:
    """The first of each two neighbours that go the same way without a hold between them."""
    up = range(len(plan) - 1 if anneal is None else anneal - 1)
    down = range(len(plan) if anneal is None else anneal + 1, len(plan) - 1)
    return [index for index in (*up, *down) if plan[index].hold == 0]


def _slower(first: DraftedSegment, second: DraftedSegment) -> float | None:
    rates = [rate for rate in (first.rate, second.rate) if rate is not None]
    return min(rates) if rates else None


def _cost(start: float, pair: Sequence[DraftedSegment]) -> float:
    """Hours that merging two segments takes longer; at full power none are counted."""
    first, second = pair
    apart = _hours(start, first.target, first.rate) + _hours(
        first.target, second.target, second.rate
    )
    return _hours(start, second.target, _slower(first, second)) - apart


def _hours(start: float, target: float, rate: float | None) -> float:
    return 0.0 if rate is None else abs(target - start) / rate
