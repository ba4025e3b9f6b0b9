"""Where in its plan a kiln is, by what its display showed so far.

A controller that waits for its kiln gets later than its plan, never out of its order: a reading on
a ramp tells where on that ramp the kiln is, and one below its target tells that the hold has not
begun. So a plan is only shifted by readings, segment after segment.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan
from typing import Literal, NamedTuple

import numpy as np

from schedules.services.curve import Curve, Segment
from studio.services.kiln_response import REACH

REACHED = 3.0
"""°C from its target within which a hold counts as begun; display and controller differ by about
that (common practice, no source)."""
MOST_READINGS = 240
"""That are looked at; a logger's many are thinned, evenly, to about as many."""


class Noted(NamedTuple):
    """What the display showed: `seconds` from the firing's start, `temperature` in °C."""

    seconds: float
    temperature: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A reading with its place in the plan.

    Attributes
    ----------
    noted : see `Noted`
    planned : s from the plan's start at which the kiln stood by that reading
    delay_before : s by which the plan was shifted before it
    """

    noted: Noted
    planned: float
    delay_before: float

    @property
    def delay(self) -> float:
        """s by which the plan is shifted by it; negative where the kiln is ahead."""
        return self.noted.seconds - self.planned


@dataclass(frozen=True, slots=True)
class Placement:
    """All readings in the plan.

    Attributes
    ----------
    placed : in the order of time
    delay : s by which what is still to come is later than the plan says
    by_hand : the part of `delay` that comes of going on early
    passed : places that lie behind, in the order of the plan: s from the plan's start, and s from
        the firing's start at which the kiln was there
    """

    placed: tuple[Placed, ...]
    delay: float
    by_hand: float
    passed: tuple[tuple[float, float], ...] = ()

    def moment(self, planned: float) -> float:
        """s from the firing's start at which the kiln is, or was, at a place in its plan.

        What is to come is shifted by `delay`. What lies behind stays where it was: it is known at
        the start, at each reading and at each going on early, and taken as even between them.

        Examples
        --------
        >>> late = Placement((), 1800.0, 0.0, ((7200.0, 9000.0),))
        >>> late.moment(0.0), late.moment(3600.0), late.moment(7200.0), late.moment(14400.0)
        (0.0, 4500.0, 9000.0, 16200.0)
        """
        if not self.passed or planned >= self.passed[-1][0]:
            return planned + self.delay
        places, moments = zip((0.0, 0.0), *self.passed, strict=True)
        return float(np.interp(planned, places, moments))


@dataclass(frozen=True, slots=True)
class PlanStage:
    """What the plan does at a moment: ramp or hold of a segment, or cooling by itself at its end.

    Attributes
    ----------
    kind : which of them
    index : of the segment, from 0; the number of segments once all are done
    begin, end : s from the plan's start; None for the end of free cooling
    rises : whether the segment leads up
    """

    kind: Literal["ramp", "hold", "free"]
    index: int
    begin: float
    end: float | None
    rises: bool


def plan_stages(plan: Curve) -> tuple[PlanStage, ...]:
    """All stages that take time, first to last; one that is not reached has none.

    Examples
    --------
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0)
    >>> plan = planned_curve([Segment(100.0, 520.0, 600.0), Segment(None, 400.0)], kiln)
    >>> [(each.kind, each.index, each.rises) for each in plan_stages(plan)]
    [('ramp', 0, True), ('hold', 0, True), ('ramp', 1, False), ('free', 2, False)]
    """
    stages = []
    for index, span in enumerate(plan.spans):
        rises = leads_up(plan, index)
        if span.hold_start > span.ramp_start:
            stages.append(PlanStage("ramp", index, span.ramp_start, span.hold_start, rises))
        if span.hold_end > span.hold_start:
            stages.append(PlanStage("hold", index, span.hold_start, span.hold_end, rises))
    if plan.duration is not None:
        stages.append(PlanStage("free", len(plan.segments), plan.duration, None, False))
    return tuple(stages)


def leads_up(plan: Curve, index: int) -> bool:
    """Whether a segment's target lies above the one before it, or above the start."""
    before = plan.start if index == 0 else plan.segments[index - 1].target
    return plan.segments[index].target > before


def stage_at(plan: Curve, seconds: float) -> PlanStage | None:
    """What the plan does at `seconds` from its start; None where it isn't known.

    At the end of a stage the next has begun.
    """
    stages = plan_stages(plan)
    for stage in stages:
        if stage.end is None or seconds < stage.end:
            return stage
    return None


def rest_of(plan: Curve, seconds: float) -> list[Segment]:
    """The segments that are still to come at `seconds`, the present one with what is left of it.

    Examples
    --------
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(100.0, 520.0, 600.0), Segment(None, 400.0)],
    ...                      KilnResponse(1100.0, 7200.0, 10800.0))
    >>> rest_of(plan, 18200.0)
    [Segment(rate=100.0, target=520.0, hold=400.0), Segment(rate=None, target=400.0, hold=0.0)]
    """
    for index, span in enumerate(plan.spans):
        if seconds < span.hold_end:
            now = plan.segments[index]
            left = min(now.hold, span.hold_end - seconds)
            return [Segment(now.rate, now.target, left), *plan.segments[index + 1 :]]
    return list(plan.segments[len(plan.spans) :])


def place_readings(
    plan: Curve, readings: Sequence[Noted], went_on: Sequence[float] = ()
) -> Placement:
    """Shift a plan so that it goes through what was read.

    Parameters
    ----------
    plan : as keyed
    readings : in any order
    went_on : s from the firing's start at which somebody went on early to the next segment

    Returns
    -------
    Placement; without readings nothing but what was gone on by hand.

    Examples
    --------
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(100.0, 520.0, 600.0)], KilnResponse(1100.0, 7200.0, 1e4))
    >>> place_readings(plan, [Noted(9000.0, 220.0)]).delay  # 220 °C was due after 7200 s
    1800.0
    """
    delay, by_hand, reached = 0.0, 0.0, -1
    placed: list[Placed] = []
    passed: list[tuple[float, float]] = []
    skips = sorted(went_on)
    for noted in _thinned(sorted(readings)):
        while skips and skips[0] <= noted.seconds:
            moment = skips.pop(0)
            ahead = _to_the_next(plan, moment - delay)
            passed += [(moment - delay, moment), (moment - delay + ahead, moment)]
            delay, by_hand = delay - ahead, by_hand - ahead
        planned = _planned_at(plan, noted.seconds - delay, noted.temperature, reached)
        placed.append(Placed(noted, planned, delay))
        passed.append((planned, noted.seconds))
        delay = noted.seconds - planned
        stage = stage_at(plan, planned)
        if stage is not None and stage.kind == "hold" and _is_there(plan, stage, noted):
            reached = stage.index
    for moment in skips:
        ahead = _to_the_next(plan, moment - delay)
        passed += [(moment - delay, moment), (moment - delay + ahead, moment)]
        delay, by_hand = delay - ahead, by_hand - ahead
    return Placement(tuple(placed), delay, by_hand, _in_order(passed))


def _in_order(passed: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Without places that a later reading says the kiln had not come to yet."""
    kept: list[tuple[float, float]] = []
    for planned, seconds in reversed(passed):
        if planned >= 0 and (not kept or planned < kept[-1][0]):
            kept.append((planned, seconds))
    return tuple(reversed(kept))


def _is_there(plan: Curve, stage: PlanStage, noted: Noted) -> bool:
    return abs(noted.temperature - plan.segments[stage.index].target) <= REACHED


def _thinned(readings: list[Noted]) -> list[Noted]:
    step = -(-len(readings) // MOST_READINGS)
    if step <= 1:
        return readings
    return readings[-1::-step][::-1]


def _to_the_next(plan: Curve, seconds: float) -> float:
    """s of the plan that are left out by going on from its present segment."""
    for span in plan.spans:
        if seconds < span.hold_end:
            return span.hold_end - max(seconds, 0.0)
    return 0.0


def _planned_at(plan: Curve, expected_at: float, temperature: float, reached: int) -> float:
    """s from the plan's start that a reading stands for, the plan so far being at `expected_at`."""
    stage, expected = stage_at(plan, expected_at), plan.at(expected_at)
    if stage is None or isnan(expected) or temperature == expected:
        return expected_at
    if stage.kind == "free":
        return _when_free(plan, stage.begin, temperature, reached)
    target = plan.segments[stage.index].target
    if stage.kind == "hold":
        short = target - temperature if stage.rises else temperature - target
        if stage.index <= reached or short <= REACHED:
            return expected_at
        return _back_to(plan, stage.index, temperature, reached)
    is_late = temperature < expected if stage.rises else temperature > expected
    if is_late:
        return _back_to(plan, stage.index, temperature, reached)
    return _on_to(plan, stage.index, temperature)


def _when_free(plan: Curve, end: float, temperature: float, reached: int) -> float:
    """In the cooling after the last segment; before it, where the kiln is not as far as that."""
    last = plan.at(end)
    if temperature > last:
        index = len(plan.spans) - 1
        if index < 0 or leads_up(plan, index) or index <= reached:
            return end
        return _back_to(plan, index, temperature, reached)
    coldest = plan.response.ambient + REACH
    return end + plan.response.cooling_time(last, max(temperature, min(coldest, last)))


def _back_to(plan: Curve, index: int, temperature: float, reached: int) -> float:
    """On this ramp, or on one before it that leads the same way; at the earliest its beginning."""
    rises = leads_up(plan, index)
    while True:
        on_ramp = _on_ramp(plan, index, temperature)
        if on_ramp is not None:
            return on_ramp
        before = index - 1
        if before < 0 or leads_up(plan, before) != rises or (not rises and before <= reached):
            return plan.spans[index].ramp_start
        index = before


def _on_to(plan: Curve, index: int, temperature: float) -> float:
    """On this ramp, or on one after it that leads on without a hold; at the latest its end."""
    while True:
        on_ramp = _on_ramp(plan, index, temperature)
        if on_ramp is not None:
            return on_ramp
        span, after = plan.spans[index], index + 1
        goes_on = after < len(plan.spans) and leads_up(plan, after) == leads_up(plan, index)
        if span.hold_end > span.hold_start or not goes_on:
            return span.hold_start
        index = after


def _on_ramp(plan: Curve, index: int, temperature: float) -> float | None:
    """When the ramp of a segment passes `temperature`; None where it does not."""
    span = plan.spans[index]
    for piece in plan.pieces:
        if piece.start >= span.ramp_start and piece.end <= span.hold_start:
            low, high = sorted((piece.first, piece.last))
            if low < high and low <= temperature <= high:
                return piece.time_at(temperature)
    return None
