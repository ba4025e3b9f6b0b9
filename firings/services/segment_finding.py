"""When each segment of a plan began and ended in the readings.

First the order of ramps and holds (`segment_order`), then each boundary by itself on all readings:
where a target is known, the moment at which it is met; where a hold ends, the knee.
"""

from dataclasses import dataclass
from math import copysign, inf, isnan

import numpy as np

from firings.services.interruptions import Interruption, find_interruptions
from firings.services.knees import Branch, crossing, departure, hinge, knee, line_before, meeting
from firings.services.readings import Readings
from firings.services.segment_order import Order, Stretch, find_order
from schedules.services.curve import Curve, Segment
from studio.services.kiln_response import SECONDS_PER_HOUR

MET = 2.0
"""°C within which a target counts as met where the kiln was slower than its ramp."""
SLOWER = 0.85
"""Share of the asked rate below which it was."""
LINE = 1500.0
"""s before a target over which a ramp that the kiln follows is taken for a straight line."""
FAR = 15.0
"""°C from its target at which a ramp that ended was left early."""
LEFT = 4.0
"""°C from its level at which a hold is left for good."""
ROUNDED = 600.0
"""s by which a controller rounds a corner, at most."""
TURN = 120.0
"""s to both sides over which the course is smoothed where it turns."""
AT_ONCE = 240.0
"""s from the first reading within which a first ramp began with it."""


@dataclass(frozen=True)
class FoundSegment:
    """s of the recording; None for what was not found.

    Attributes
    ----------
    ramp_start : the ramp begins
    hold_start : its target is met
    hold_end : the hold ends; where there is none, the ramp
    """

    ramp_start: float | None = None
    hold_start: float | None = None
    hold_end: float | None = None


@dataclass(frozen=True)
class Finding:
    """The segments of a plan as they lie in a recording.

    Attributes
    ----------
    segments : one for each planned
    interruptions : what lay between, see `Interruption`
    began_before : whether the readings began in mid-firing
    """

    segments: tuple[FoundSegment, ...]
    interruptions: tuple[Interruption, ...]
    began_before: bool


def find_segments(plan: Curve, readings: Readings) -> Finding:
    """Find each segment of a plan in the readings.

    Parameters
    ----------
    plan : of at least one segment
    readings : of the same kiln, in the same terms

    Returns
    -------
    Finding

    Examples
    --------
    >>> from firings.services.recording import Recording
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(200.0, 620.0, 1800.0)], KilnResponse(1100.0, 7e3, 1e4))
    >>> times = np.arange(0.0, 20000.0, 30.0)
    >>> found = find_segments(plan, Readings.of(Recording(times + 900.0, plan.at(times))))
    >>> [first] = found.segments
    >>> round(first.hold_start) - 900, round((first.hold_end - first.hold_start) / 60)
    (10800, 30)
    """
    interruptions = find_interruptions(plan, readings)
    order = find_order(plan, readings, [(each.begin, each.end) for each in interruptions])
    return _Refining(plan, readings, order, interruptions).finding()


class _Refining:
    """Each boundary in turn, from the one before it."""

    def __init__(
        self,
        plan: Curve,
        readings: Readings,
        order: Order,
        interruptions: tuple[Interruption, ...],
    ) -> None:
        self.plan = plan
        self.readings = readings
        self.order = order
        self.interruptions = interruptions
        self.first, self.last = float(readings.times[0]), float(readings.times[-1])

    def finding(self) -> Finding:
        start, began_before = self._start()
        found: list[FoundSegment] = []
        origin, now = float(self.plan.start), start
        for index, segment in enumerate(self.plan.segments):
            one = self._in_order(self._segment(index, segment, origin, now), now)
            found.append(one)
            origin = segment.target
            now = one.hold_end if one.hold_end is not None else now
        if began_before and found:
            found[0] = FoundSegment(None, found[0].hold_start, found[0].hold_end)
        return Finding(tuple(found), self.interruptions, began_before)

    def _in_order(self, one: FoundSegment, now: float) -> FoundSegment:
        """No moment before the one before it, nor after the last reading."""
        if one.hold_end is None:
            return one
        hold_start = one.hold_start
        if hold_start is not None:
            hold_start = min(max(hold_start, now), self.last)
        latest = now if hold_start is None else hold_start
        return FoundSegment(one.ramp_start, hold_start, min(max(one.hold_end, latest), self.last))

    def _start(self) -> tuple[float, bool]:
        """When the first ramp begins, and whether the readings missed it."""
        ramp = self.order.ramps[0]
        near = self.order.before if self.order.before is not None else self.first
        warm = float(self.readings.temperatures[0]) > self.plan.start + 30.0
        if near - self.first < AT_ONCE:
            return self.first, warm and ramp is not None
        end = self._clear_until(near, ramp.end if ramp is not None else self.last)
        bend = knee(self.readings, near, self.first, min(end, near + 3600.0), flat=True)
        _, before = self.readings.between(self.first, bend - 60.0)
        level = float(before.mean()) if before.size else float(self.readings.temperatures[0])
        after = Branch(bend, end, self._asked(0))
        met = meeting(self.readings, bend, Branch(self.first, bend, level=level), after)
        return self._likely(met, bend), False

    def _asked(self, index: int) -> float:
        """°C/s that a segment asks of the kiln; infinite for full power, which has no line."""
        segment = self.plan.segments[index]
        if segment.rate is None:
            return inf
        origin = self.plan.segments[index - 1].target if index else float(self.plan.start)
        return copysign(segment.rate / SECONDS_PER_HOUR, segment.target - origin)

    def _clear_until(self, begin: float, end: float) -> float:
        """`end`, or where an interruption comes before it."""
        return min([end, *(each.begin for each in self.interruptions if each.begin > begin)])

    def _clear_since(self, begin: float, end: float) -> float:
        """`begin`, or the end of the last interruption after it."""
        return max([begin, *(each.end for each in self.interruptions if each.end < end)])

    @staticmethod
    def _likely(met: float, bend: float) -> float:
        """Where the lines meet, if that is about where the course bends."""
        return met if abs(met - bend) < ROUNDED else bend

    def _segment(self, index: int, segment: Segment, origin: float, now: float) -> FoundSegment:
        ramp, hold = self.order.ramps[index], self.order.holds[index]
        if ramp is None and hold is None:
            return FoundSegment()
        if hold is not None:
            hold = self._with_interruptions(segment, hold)
        if hold is not None and self._passing(index, hold, origin):
            ramp = Stretch(hold.begin if ramp is None else ramp.begin, hold.end)
            hold = None
        sign = 1.0 if segment.target >= origin else -1.0
        end = hold.end if hold is not None else ramp.end if ramp is not None else now
        follows = self._next_end(index, end)
        met = self._met(segment, sign, now, follows if hold is None else min(end + 300.0, follows))
        if hold is None or (met is None and self._is_corner(hold, segment)):
            return self._without_hold(index, now, end, follows, met, sign)
        hold_start = met if met is not None else max(hold.begin, now)
        if hold.end >= self.last - self.readings.spacing:
            return FoundSegment(now, hold_start, self.last)
        hold_end = self._hold_end(index, hold, hold_start, follows)
        return FoundSegment(now, hold_start, hold_end)

    def _passing(self, index: int, hold: Stretch, origin: float) -> bool:
        """Whether a hold is so short that it is only the corner between two ramps one way."""
        segment, later = self.plan.segments[index], self._later(index)
        if later is None:
            return False
        after = self.plan.segments[later].target - segment.target
        return after * (segment.target - origin) > 0 and self._is_corner(hold, segment)

    def _is_corner(self, hold: Stretch, segment: Segment) -> bool:
        """Whether a hold is short beside what was planned."""
        length = hold.end - hold.begin
        return length < max(150.0, 3 * self.readings.spacing) and length < segment.hold / 3

    def _with_interruptions(self, segment: Segment, hold: Stretch) -> Stretch:
        """A hold and what followed of it after the power came back."""
        end = hold.end
        for each in self.interruptions:
            if hold.begin < each.begin < end + ROUNDED and each.depth > 0:
                level, _ = self.readings.lines(np.array([each.end + 60.0]), 120.0)
                if abs(float(level[0]) - segment.target) < FAR / 2:
                    end = max(end, each.end + 60.0)
        return Stretch(hold.begin, end)

    def _next_end(self, index: int, end: float) -> float:
        """When what comes after a segment ends: its knee is not looked for beyond."""
        later = [
            stretch
            for stretch in (*self.order.ramps[index + 1 :], *self.order.holds[index + 1 :])
            if stretch is not None
        ]
        ends = [stretch.end for stretch in later if stretch.end > end]
        return min(ends, default=self.last)

    def _met(self, segment: Segment, sign: float, begin: float, end: float) -> float | None:
        """When a target is met: within `MET`, or by the line of a ramp that the kiln follows."""
        target = segment.target
        within = crossing(self.readings, target - sign * MET, sign, begin, end)
        if isnan(within):
            return None
        for each in self.interruptions:
            if sign < 0 and each.begin < within + ROUNDED and within <= each.end < end:
                return self._come_back(target, within, end)
        if segment.rate is None:
            return within
        length = min(LINE, 0.7 * (within - begin))
        for each in self.interruptions:
            if each.begin < within and each.end > within - length:
                length = within - each.end
        level, slope = line_before(self.readings, within, length)
        pace = sign * slope * SECONDS_PER_HOUR
        if not pace >= SLOWER * segment.rate:
            return within
        return max(within, within + sign * (target - level) / (sign * slope))

    def _come_back(self, target: float, fallen: float, end: float) -> float:
        """When a kiln that fell through its target, switched off, is back at it; or `fallen`."""
        below = crossing(self.readings, target - 2 * MET, -1.0, fallen, end)
        back = crossing(self.readings, target - MET, 1.0, below, end)
        if not isnan(back):
            return back
        turned = self._turned(below, end)
        return fallen if turned is None or abs(turned[1] - target) > 2 * MET else turned[0]

    def _turned(self, below: float, end: float) -> tuple[float, float] | None:
        """Where a kiln that is heated again turns, s and °C, too soon to be seen at its target."""
        times, _ = self.readings.between(below, end)
        if times.size < 3:
            return None
        level, _ = self.readings.lines(times, max(TURN, 1.5 * self.readings.spacing))
        level = np.where(np.isfinite(level), level, -inf)
        place = int(np.argmax(level))
        # At the first of the readings it only falls on.
        return (float(times[place]), float(level[place])) if place > 0 else None

    def _without_hold(
        self,
        index: int,
        now: float,
        end: float,
        follows: float,
        met: float | None,
        sign: float,
    ) -> FoundSegment:
        """A ramp that goes over into the next: at its target, or where someone left it."""
        segment = self.plan.segments[index]
        if end >= self.last - self.readings.spacing:
            return FoundSegment(now, met, self.last)
        there, _ = self.readings.lines(np.array([end]), 300.0)
        left = sign * (segment.target - float(there[0])) > FAR
        early = None
        if left or met is None or segment.hold > 0:
            early = self._left_early(index, now, end, follows)
            level, _ = self.readings.lines(np.array([early]), 300.0)
            left = left or sign * (segment.target - float(level[0])) > FAR
        if early is not None and (left or met is None):
            return FoundSegment(now, None, early)
        return FoundSegment(now, met, met)

    def _left_early(self, index: int, now: float, end: float, follows: float) -> float:
        """When someone went on in mid-ramp: where the lines of both ramps meet, or the knee."""
        later = self._later(index)
        clear = self._clear_until(end, follows)
        if later is not None:
            start = self._clear_since(now, end)
            likely = hinge(self.readings, start, clear, self._asked(index), self._asked(later))
            end = end if isnan(likely) else likely
            before = Branch(start, end, self._asked(index))
            met = end
            for _ in range(3):
                after = Branch(met, clear, self._asked(later))
                met = meeting(self.readings, met, before, after)
            if abs(met - end) < 2 * ROUNDED:
                return met
        return knee(self.readings, end, now, clear)

    def _later(self, index: int) -> int | None:
        """The next segment whose ramp was found."""
        ramps = self.order.ramps
        return next((i for i in range(index + 1, len(ramps)) if ramps[i] is not None), None)

    def _hold_end(self, index: int, hold: Stretch, hold_start: float, follows: float) -> float:
        """When the kiln leaves a hold for what comes after it."""
        target = self.plan.segments[index].target
        begin = self._clear_since(hold_start + 0.3 * (hold.end - hold_start), hold.end)
        end = self._clear_until(hold.end, follows)
        _, held = self.readings.between(max(begin, hold.end - 1200.0), hold.end)
        level = float(np.median(held)) if held.size else target
        later = self._later(index)
        to = self.plan.segments[later].target if later is not None else -inf
        sign = 1.0 if to > target else -1.0
        near = departure(self.readings, level + sign * LEFT, sign, begin, end)
        near = hold.end if isnan(near) or abs(near - hold.end) > 1800.0 else near
        bend = knee(self.readings, near, begin, end)
        asked = -inf if later is None else self._asked(later)
        level = self._held_level(target, max(begin, bend - 1200.0), bend)
        met = meeting(
            self.readings, bend, Branch(begin, bend, level=level), Branch(bend, end, asked)
        )
        return max(self._likely(met, bend), hold_start)

    def _held_level(self, target: float, begin: float, end: float) -> float:
        """°C of a hold towards its end: what was read, or the target where it hardly settled."""
        _, held = self.readings.between(begin, end - 60.0)
        if held.size < 4:
            return target
        share = min((end - begin) / 1200.0, 1.0)
        return target + share * (float(np.mean(held)) - target)
