"""How the latest reading of a running firing stands to its plan, and what that means.

What is usual comes of the kiln's learnt response, its covariance, and its repeatability. A kiln
above what it ought to show and still climbing is a runaway, never ahead of its plan.
"""

from dataclasses import dataclass, replace
from math import exp, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from firings.services.kiln_learning import PRIOR_COOLING, PRIOR_LIMIT, PRIOR_RISE
from firings.services.plan_place import Noted, Placed, Placement, PlanStage, stage_at
from schedules.services.curve import Curve, planned_curve
from studio.services.response_parameters import parameters, with_parameters

Floats = NDArray[np.float64]

READ = 1.5
"""°C of standard deviation with which a display is read beside a kiln that moves (invented)."""
USUAL = 2.0
"""Standard deviations within which a difference is usual."""
OVERSHOOT = 10.0
"""°C above a target that controllers go over it, at most; common practice, no source."""
REPEATS_OVERSHOOT = 4.0
"""Times the kiln's repeatability, where that is more."""
FAR_ABOVE = 30.0
"""°C above the hottest that the plan ever asks, from which a single reading is a runaway: no
controller that still switches its elements overshoots so far (no source; cautious)."""
CLIMB = 2.0
"""°C from one reading to the next that are a climb and no flicker of the display."""
NEARLY_THERE = 20.0
"""°C below its target from which the reading before shows that a kiln went on past it."""
LOOKED_LATELY = 3 * 3600.0
"""s within which two readings are held against each other."""
LEAST_APART = 300.0
"""s between two readings that tell a rise."""
LEAST_RISE = 15.0
"""°C that the kiln would rise at full power between them, at least."""
SLOWEST, LEAST_SLOW = 0.5, 0.85
"""Shares of its usual rise below which a kiln falls behind: the first where nothing was learnt of
it, the second where its recordings differ by little."""
KEEPS_UP = 0.85
"""Share of the asked rise from which a kiln follows, though with a lag: its elements rest now and
then, and say nothing of its full power."""
DROP = 10.0
"""°C below what the plan holds or asks at which a kiln has fallen."""

Code = Literal[
    "on_plan",
    "over_hold",
    "below_hold",
    "ahead",
    "behind_usual",
    "behind",
    "falling_behind",
    "late",
    "early",
    "slower_usual",
    "slower",
    "faster_usual",
    "faster",
    "fell",
    "hot",
    "runaway",
]


@dataclass(frozen=True, slots=True)
class Standing:
    """What a reading says of a firing.

    Attributes
    ----------
    code : what it is; the words are the page's
    noted : the reading
    planned : °C that the plan as keyed had for that moment
    spread : °C, the standard deviation of what this kiln does there from firing to firing
    is_learnt : whether that rests on the kiln's recordings
    delay : s by which the plan is later by this reading
    share : of the usual rise at full power, where the kiln could not follow; or None
    ceiling : °C that the plan allowed at the most
    from_the_start : whether `share` counts from the start, for want of a reading before
    """

    code: Code
    noted: Noted
    planned: float
    spread: float
    is_learnt: bool
    delay: float
    share: float | None = None
    ceiling: float | None = None
    from_the_start: bool = False

    @property
    def difference(self) -> float:
        """°C above the plan, negative below it."""
        return self.noted.temperature - self.planned

    @property
    def is_usual(self) -> bool:
        """Whether this kiln differs by as much from firing to firing."""
        return abs(self.difference) <= USUAL * self.spread

    @property
    def is_runaway(self) -> bool:
        return self.code == "runaway"

    @property
    def is_grave(self) -> bool:
        """Whether somebody should do something."""
        return self.code in ("runaway", "hot", "fell", "falling_behind")


def judge_reading(plan: Curve, placement: Placement, repeatability: float = 1.5) -> Standing | None:
    """How the latest of the placed readings stands.

    Parameters
    ----------
    plan : as keyed; its response gives what is usual
    placement : from `place_readings`
    repeatability : °C, the kiln's, from firing to firing

    Returns
    -------
    Standing, or None without a reading or where the plan tells nothing of its moment.

    Examples
    --------
    >>> from firings.services.plan_place import place_readings
    >>> from schedules.services.curve import Segment
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(300.0, 800.0, 1800.0)], KilnResponse(1100.0, 7200.0, 1e4))
    >>> def told(*readings):
    ...     return judge_reading(plan, place_readings(plan, [Noted(*each) for each in readings]))
    >>> told((3600.0, 321.0)).code
    'on_plan'
    >>> told((11400.0, 801.0), (12000.0, 818.0)).code
    'runaway'
    """
    if not placement.placed:
        return None
    last = placement.placed[-1]
    stage = stage_at(plan, last.planned)
    base_delay = placement.by_hand
    planned = float(plan.at(last.noted.seconds - base_delay))
    if stage is None or np.isnan(planned):
        return None
    before = _looked_before(placement, last)
    spread, is_learnt = spread_at(plan, last.noted.seconds - base_delay)
    told = Standing(
        "on_plan",
        last.noted,
        planned,
        sqrt(spread**2 + repeatability**2 + READ**2),
        is_learnt,
        placement.delay,
    )
    above = max(OVERSHOOT, REPEATS_OVERSHOOT * repeatability)
    ceiling = _ceiling(plan, stage, last, before)
    if last.noted.temperature > ceiling + above:
        code: Code = "runaway" if _climbs(plan, last, before, ceiling) else "hot"
        return replace(told, code=code, ceiling=ceiling)
    if _fell(plan, last, before):
        return replace(told, code="fell")
    share, from_the_start = _share_of_full_power(plan, placement, last)
    told = replace(told, share=share, from_the_start=from_the_start)
    if stage.rises and share is not None and share < _slow_share(plan):
        return replace(told, code="falling_behind")
    near = max(3.0, 2 * repeatability)
    by_clock = stage_at(plan, last.noted.seconds - base_delay)
    if _is_elsewhere(plan, stage, by_clock, told):
        return replace(told, code="late" if told.delay > 0 else "early")
    if stage.kind == "hold":
        return replace(told, code=_in_a_hold(plan, stage, told, near))
    return replace(told, code=_on_the_way(stage, told, near))


def _is_elsewhere(
    plan: Curve, stage: PlanStage, by_clock: PlanStage | None, told: Standing
) -> bool:
    """Whether the clock says one thing and the display another: then degrees compare nothing."""
    if by_clock is not None and by_clock.rises != stage.rises:
        return True
    if stage.rises or stage.kind == "hold" or not 0 < stage.index <= len(plan.spans):
        return False
    # Still about where the fall began: the hold before it began later.
    begins_at = plan.segments[stage.index - 1].target
    return told.delay > 0 and abs(told.noted.temperature - begins_at) <= DROP < told.difference


def _in_a_hold(plan: Curve, stage: PlanStage, told: Standing, near: float) -> Code:
    over = told.noted.temperature - plan.segments[stage.index].target
    if over > near:
        return "over_hold"
    return "below_hold" if over < -near else "on_plan"


def _on_the_way(stage: PlanStage, told: Standing, near: float) -> Code:
    difference = told.difference
    if abs(difference) <= near:
        return "on_plan"
    is_usual = told.is_usual
    if stage.rises:
        if difference > 0:
            return "ahead"
        return "behind_usual" if is_usual else "behind"
    if difference > 0:
        return "slower_usual" if is_usual else "slower"
    return "faster_usual" if is_usual else "faster"


def spread_at(plan: Curve, seconds: float) -> tuple[float, bool]:
    """By how much this kiln differs from its plan at a moment, and whether that was learnt.

    The standard deviation in °C that the covariance of its response makes: along each principal
    direction of the covariance the plan is drawn anew by one deviation either way, and the greater
    of the two differences counts. A kiln of keyed figures takes the doubt that learning begins
    with.

    Examples
    --------
    >>> from schedules.services.curve import Segment
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1100.0, 7200.0, 1e4, covariance=np.diag([100.0, 0.0, 0.0, 0.0]))
    >>> plan = planned_curve([Segment(None, 800.0, 600.0)], kiln)
    >>> spread, is_learnt = spread_at(plan, 3600.0)
    >>> round(spread), is_learnt  # a rise 5 % slower, after an hour of it
    (17, True)
    """
    response = plan.response
    middle, covariance = parameters(response), response.covariance
    is_learnt = covariance is not None
    if covariance is None:
        rise, _, cooling, slow = middle.tolist()
        deviations = [PRIOR_RISE * rise, PRIOR_LIMIT, PRIOR_COOLING * cooling, PRIOR_COOLING * slow]
        covariance = np.diag(np.square(deviations))
    expected = float(plan.at(seconds))
    variances, directions = np.linalg.eigh(np.asarray(covariance, dtype=np.float64))
    total = 0.0
    for variance, direction in zip(variances.tolist(), directions.T, strict=True):
        if variance <= 0:
            continue
        step = direction * sqrt(variance)
        found = [
            planned_curve(
                plan.segments,
                with_parameters(response, (middle + sign * step).tolist()),
                plan.start,
            ).at(seconds)
            for sign in (1.0, -1.0)
        ]
        apart = [abs(each - expected) for each in found if not np.isnan(each)]
        total += max(apart, default=0.0) ** 2
    return sqrt(total), is_learnt


def _slow_share(plan: Curve) -> float:
    """The share of its usual rise below which this kiln falls behind."""
    response = plan.response
    if response.covariance is None:
        return SLOWEST
    rise = parameters(response)[0]
    deviation = sqrt(max(float(response.covariance[0, 0]), 0.0)) / rise
    return float(np.clip(exp(-2.5 * deviation) - 0.05, SLOWEST, LEAST_SLOW))


def _looked_before(placement: Placement, last: Placed) -> Placed | None:
    """The reading before, where it is not too long ago."""
    if len(placement.placed) < 2:
        return None
    before = placement.placed[-2]
    lately = last.noted.seconds - before.noted.seconds <= LOOKED_LATELY
    return before if lately else None


def _ceiling(plan: Curve, stage: PlanStage, last: Placed, before: Placed | None) -> float:
    """The most, °C, that the plan asks at a reading, or asked since the one before."""
    if stage.rises and stage.index < len(plan.segments):
        return plan.segments[stage.index].target
    if before is None:
        return float(plan.at(last.planned))
    due = before.planned + last.noted.seconds - before.noted.seconds
    return float(_along(plan, before.planned, due).max())


def _along(plan: Curve, begin: float, end: float) -> Floats:
    """°C of the plan from `begin` to `end`, with the ends of the segments between them."""
    turns = [each for span in plan.spans for each in (span.hold_start, span.hold_end)]
    return plan.at([begin, *(turn for turn in turns if begin < turn < end), end])


def _climbs(plan: Curve, last: Placed, before: Placed | None, ceiling: float) -> bool:
    """Whether what is too hot still climbs, or is hotter than any controller lets it be."""
    if last.noted.temperature > plan.peak + FAR_ABOVE:
        return True
    if before is None:
        return False
    risen = last.noted.temperature - before.noted.temperature
    return risen > CLIMB and before.noted.temperature >= ceiling - NEARLY_THERE


def _fell(plan: Curve, last: Placed, before: Placed | None) -> bool:
    """Whether the kiln fell where its plan holds it, heats it or lets it down at a rate."""
    if before is None or last.noted.temperature > before.noted.temperature - CLIMB:
        return False
    due = before.planned + last.noted.seconds - before.noted.seconds
    stage = stage_at(plan, due)
    if stage is None or stage.kind == "free" or _falls_freely(plan, due):
        return False
    return last.noted.temperature < float(_along(plan, before.planned, due).min()) - DROP


def _falls_freely(plan: Curve, seconds: float) -> bool:
    return any(
        piece.start <= seconds < piece.end and piece.constant > 0 and piece.last < piece.first
        for piece in plan.pieces
    )


def _share_of_full_power(
    plan: Curve, placement: Placement, last: Placed
) -> tuple[float | None, bool]:
    """What a kiln that could not follow rose, as a share of its usual rise at full power.

    None where it followed, or where two looks are too near to tell. A kiln that loses on its plan
    has its elements on all the while. True where the start stands in for a reading.
    """
    earlier = [
        each
        for each in placement.placed[:-1]
        if LEAST_APART <= last.noted.seconds - each.noted.seconds <= LOOKED_LATELY
    ]
    from_the_start = len(placement.placed) == 1
    if earlier:
        begin = earlier[-1]
        since, then = begin.noted, begin.planned
    elif from_the_start:
        since, then = Noted(0.0, plan.start), 0.0
    else:
        return None, False
    seconds = last.noted.seconds - since.seconds
    limit = plan.response.full_power_limit
    if seconds < LEAST_APART or not since.temperature < limit:
        return None, False
    asked = float(plan.at(then + seconds))
    could = plan.response.heated(since.temperature, seconds) - since.temperature
    lost = asked - last.noted.temperature
    rose = last.noted.temperature - since.temperature
    if could < LEAST_RISE or lost < DROP or rose < 0:
        return None, False
    if rose > KEEPS_UP * (asked - since.temperature):
        return None, False
    return rose / could, from_the_start
