"""A kiln while it fires: what its display ought to show, and when what comes will come.

The plan as keyed, moved by what was read so far; after a firing was stopped, the cooling that is
left. Pages, messages and the front page all ask here.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import inf, isnan
from typing import Literal

from firings.services.plan_place import (
    Noted,
    Placement,
    PlanStage,
    place_readings,
    plan_stages,
    rest_of,
    stage_at,
)
from firings.services.standing import Standing, judge_reading
from firings.services.top import find_top
from schedules.services.case import COOLED
from schedules.services.curve import Curve, planned_curve
from schedules.services.kiln_run import KilnRun, Piece
from schedules.services.predicting import predict_time
from studio.services.kiln_response import REACH

LATE = 60.0
"""s by which a plan is moved before a page speaks of it."""

Moment = Literal["top_reached", "top_ends", "segments_done", "cool_enough"]


@dataclass(frozen=True, slots=True)
class DueMoment:
    """Something to be there for: `seconds` from the firing's start."""

    code: Moment
    seconds: float


@dataclass(frozen=True, slots=True)
class CoolEnough:
    """When a kiln may be opened, s from the firing's start; no range where nothing was learnt."""

    expected: float
    earliest: float | None
    latest: float | None


@dataclass(frozen=True)
class Watch:
    """A running firing as it is expected to go on.

    Times are s from the firing's start, temperatures °C on its display.

    Attributes
    ----------
    plan : what is left to follow: as keyed, or what came after a stop or a power cut
    origin : at which `plan` begins
    placement : the readings in `plan`, in its own seconds
    standing : of the latest reading, or None
    opening_temperature : °C at which the kiln is cool enough to open
    stopped : whether the firing was stopped, and only cools
    """

    plan: Curve
    origin: float
    placement: Placement
    standing: Standing | None
    opening_temperature: float = COOLED
    stopped: bool = field(default=False, kw_only=True)

    @property
    def shift(self) -> float:
        """s to add to the plan's own for s from the firing's start."""
        return self.origin + self.placement.delay

    @property
    def delay(self) -> float:
        """s by which everything to come is later than keyed; negative where it is sooner."""
        return self.placement.delay

    @property
    def is_moved(self) -> bool:
        return abs(self.delay) >= LATE

    def expected(self, seconds: float) -> float | None:
        """What the display ought to show; None where the plan tells nothing."""
        celsius = float(self.plan.at(seconds - self.shift))
        return None if isnan(celsius) else celsius

    def stages(self) -> tuple[PlanStage, ...]:
        """All that the plan does: what lies behind as it was, what is to come moved."""
        return tuple(self._moved(stage) for stage in plan_stages(self.plan))

    def stage(self, seconds: float) -> PlanStage | None:
        """What the kiln does at a moment, its times moved."""
        found = stage_at(self.plan, seconds - self.shift)
        return None if found is None else self._moved(found)

    def _moved(self, stage: PlanStage) -> PlanStage:
        end = None if stage.end is None else self._moment(stage.end)
        return replace(stage, begin=self._moment(stage.begin), end=end)

    def _moment(self, planned: float) -> float:
        """s from the firing's start for s of the plan."""
        return self.origin + self.placement.moment(planned)

    def due(self) -> tuple[DueMoment, ...]:
        """What somebody may want to be there for, in the order of time."""
        found: list[DueMoment] = []
        if self.plan.segments:
            top = find_top(self.plan.segments).index
            if top < len(self.plan.spans):
                span = self.plan.spans[top]
                found.append(DueMoment("top_reached", self._moment(span.hold_start)))
                if span.hold_end > span.hold_start:
                    found.append(DueMoment("top_ends", self._moment(span.hold_end)))
            if self.plan.duration is not None and top < len(self.plan.segments) - 1:
                found.append(DueMoment("segments_done", self._moment(self.plan.duration)))
        cool = self.plan.cool_to(self.opening_temperature)
        if cool is not None:
            found.append(DueMoment("cool_enough", self._moment(cool)))
        return tuple(sorted(found, key=lambda each: each.seconds))

    def next_due(self, seconds: float) -> DueMoment | None:
        return next((each for each in self.due() if each.seconds > seconds), None)

    @property
    def peak_at(self) -> float | None:
        """When the top is reached; None where it never is, or there is none any more."""
        return next((each.seconds for each in self.due() if each.code == "top_reached"), None)

    def cool_enough(self) -> CoolEnough | None:
        """When it may be opened; None where it never gets so cool.

        What lies behind is known: the range is of what is left from the latest reading on.
        """
        expected = self.plan.cool_to(self.opening_temperature)
        if expected is None:
            return None
        response = self.plan.response
        if response.covariance is None:
            return CoolEnough(expected + self.shift, None, None)
        done = self.placement.placed[-1].planned if self.placement.placed else 0.0
        left = predict_time(
            rest_of(self.plan, done), response, self.opening_temperature, self.plan.at(done)
        )
        begin = done + self.shift
        if left is None:
            return CoolEnough(expected + self.shift, begin, begin)
        return CoolEnough(expected + self.shift, begin + left.earliest, begin + left.latest)

    def knots(self) -> list[Piece]:
        """The expected course piece by piece, s from the firing's start: straight ones and
        exponentials, the last of which goes on for good."""
        pieces = list(self.plan.pieces)
        if self.plan.duration is not None:
            pieces += _free_cooling(self.plan)
        return [
            piece._replace(start=piece.start + self.shift, end=piece.end + self.shift)
            for piece in pieces
        ]


def _free_cooling(plan: Curve) -> list[Piece]:
    end = plan.duration or 0.0
    run = KilnRun(float(plan.at(end)), plan.response, end)
    cold = plan.response.ambient + REACH
    if cold < run.temperature:
        run.go(cold, inf)
    return run.pieces


def watch(
    plan: Curve,
    readings: Sequence[Noted],
    *,
    went_on: Sequence[float] = (),
    stopped_at: float | None = None,
    repeatability: float = 1.5,
    opening_temperature: float = COOLED,
) -> Watch:
    """A running firing as it is expected to go on, by its plan and by what was read so far.

    Parameters
    ----------
    plan : as keyed
    readings : of its display, in any order
    went_on : s from the start at which somebody went on early to the next segment
    stopped_at : s from the start at which it was stopped, or None
    repeatability : °C, the kiln's
    opening_temperature : °C on the display at which the kiln may be opened

    Examples
    --------
    >>> from schedules.services.curve import Segment
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(200.0, 800.0, 600.0)], KilnResponse(1100.0, 7200.0, 1e4))
    >>> seen = watch(plan, [Noted(7200.0, 320.0)])  # 420 °C was due
    >>> seen.delay, round(seen.expected(7200.0)), round(seen.peak_at - plan.spans[0].hold_start)
    (1800.0, 320, 1800)
    >>> stopped = watch(plan, [], stopped_at=7200.0)
    >>> round(stopped.expected(7200.0)), stopped.expected(9000.0) < 400.0, stopped.peak_at
    (420, True, None)
    """
    if stopped_at is not None:
        return _stopped(plan, readings, went_on, stopped_at, repeatability, opening_temperature)
    placement = place_readings(plan, readings, went_on)
    standing = judge_reading(plan, placement, repeatability)
    return Watch(plan, 0.0, placement, standing, opening_temperature)


def _stopped(
    plan: Curve,
    readings: Sequence[Noted],
    went_on: Sequence[float],
    stopped_at: float,
    repeatability: float,
    opening_temperature: float,
) -> Watch:
    """Free cooling: from the first reading after the stop, or from what was expected at it."""
    before = [each for each in readings if each.seconds < stopped_at]
    after = sorted(each for each in readings if each.seconds >= stopped_at)
    if after:
        origin, start = after[0]
    else:
        seen = Watch(plan, 0.0, place_readings(plan, before, went_on), None)
        origin, start = stopped_at, seen.expected(stopped_at) or plan.response.ambient
    return watch_from(
        planned_curve([], plan.response, min(start, plan.response.full_power_limit - REACH)),
        origin,
        after,
        repeatability=repeatability,
        opening_temperature=opening_temperature,
        stopped=True,
    )


def watch_from(
    plan: Curve,
    origin: float,
    readings: Sequence[Noted],
    *,
    repeatability: float = 1.5,
    opening_temperature: float = COOLED,
    stopped: bool = False,
) -> Watch:
    """What follows a plan that began in mid-firing, `origin` s from the firing's start.

    Parameters
    ----------
    plan : whose start is the display's temperature at `origin`
    readings : of the firing; those before `origin` are left out
    repeatability, opening_temperature : as for `watch`
    stopped : whether `plan` is nothing but cooling

    Examples
    --------
    >>> from studio.services.kiln_response import KilnResponse
    >>> left = planned_curve([], KilnResponse(1100.0, 7200.0, 1e4), 400.0)
    >>> watch_from(left, 3600.0, [Noted(3600.0, 400.0), Noted(4600.0, 420.0)]).standing.code
    'runaway'
    """
    own = [Noted(each.seconds - origin, each.temperature) for each in readings]
    placement = place_readings(plan, [each for each in own if each.seconds >= 0])
    standing = judge_reading(plan, placement, repeatability)
    if standing is not None:
        there = standing.noted
        standing = replace(standing, noted=Noted(there.seconds + origin, there.temperature))
    return Watch(plan, origin, placement, standing, opening_temperature, stopped=stopped)
