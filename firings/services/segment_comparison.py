"""Each planned segment held against what was found of it."""

from dataclasses import KW_ONLY, dataclass, replace
from math import inf, log

import numpy as np

from firings.services.holding import Holding, held
from firings.services.readings import Readings
from firings.services.segment_finding import Finding, FoundSegment
from schedules.services.curve import Curve, Segment
from studio.services.glass import Glass, log10_viscosity
from studio.services.kiln_response import SECONDS_PER_HOUR

TOLD_APART = 2.0
"""Steps between readings by which two moments differ before it says anything."""


@dataclass(frozen=True)
class SegmentComparison:
    """A planned segment as it was found in the recording; None for what was not found.

    Attributes
    ----------
    index : of the planned segment
    start : s of the recording at which its ramp begins
    end : s at which its hold ends
    rate_achieved : °C/h from the ramp's begin until its target was met, or it was left; a
        magnitude, without the time of an interruption
    overshoot : °C past its target in the direction of its ramp, 0 where it stayed short
    hold_achieved : s at the target, without the time of an interruption
    delay : s by which it ended later than planned, by the recording's clock
    hold_start : s at which its target was met
    own_delay : s by which it took longer than planned by itself
    settled_after : s from meeting the target until it stayed within 3 °C of it
    held_within : s of the hold within 3 °C of the target
    mean : °C while holding
    rate_planned : °C/h that the plan's curve has on average
    beyond : names of those of "rate_achieved", "overshoot", "hold_achieved", "own_delay" and
        "mean" that differ from the plan by more than the kiln does from firing to firing
    """

    index: int
    start: float | None = None
    end: float | None = None
    rate_achieved: float | None = None
    overshoot: float | None = None
    hold_achieved: float | None = None
    delay: float | None = None
    _: KW_ONLY
    hold_start: float | None = None
    own_delay: float | None = None
    settled_after: float | None = None
    held_within: float | None = None
    mean: float | None = None
    rate_planned: float | None = None
    beyond: frozenset[str] = frozenset()

    @property
    def found(self) -> bool:
        """Whether anything of it was found in the readings."""
        return self.end is not None


def compare_segments(
    plan: Curve, readings: Readings, finding: Finding, glass: Glass, repeatability: float
) -> tuple[tuple[SegmentComparison, ...], tuple[Holding | None, ...]]:
    """Hold each segment against the plan.

    Parameters
    ----------
    plan : see `Curve`
    readings, finding : of the recording
    glass : through which a difference in time is weighed as one in temperature
    repeatability : °C by which this kiln differs from firing to firing

    Returns
    -------
    One `SegmentComparison` and, where there was one, one `Holding` for each planned segment.
    """
    one = _Segments(plan, readings, finding, glass, repeatability)
    pairs = [one.compared(index) for index in range(len(plan.segments))]
    return tuple(pair[0] for pair in pairs), tuple(pair[1] for pair in pairs)


@dataclass(frozen=True)
class _Segments:
    plan: Curve
    readings: Readings
    finding: Finding
    glass: Glass
    repeatability: float

    def compared(self, index: int) -> tuple[SegmentComparison, Holding | None]:
        found = self.finding.segments[index]
        if found.hold_end is None:
            return SegmentComparison(index), None
        segment = self.plan.segments[index]
        origin = self.plan.segments[index - 1].target if index else float(self.plan.start)
        sign = 1.0 if segment.target >= origin else -1.0
        holding = None
        if found.hold_start is not None:
            holding = held(
                self.readings,
                self.finding.interruptions,
                segment.target,
                sign,
                found.hold_start,
                found.hold_end,
            )
        spans = self.plan.spans
        span = spans[index] if index < len(spans) else None
        paused = self._paused(found.ramp_start, found.hold_end)
        own = None
        if span is not None and found.ramp_start is not None:
            own = (found.hold_end - found.ramp_start) - (span.hold_end - span.ramp_start)
        planned_rate = None
        if span is not None and span.hold_start > span.ramp_start:
            height = abs(segment.target - origin)
            planned_rate = height / (span.hold_start - span.ramp_start) * SECONDS_PER_HOUR
        compared = SegmentComparison(
            index,
            start=found.ramp_start,
            end=found.hold_end,
            rate_achieved=self._rate(index, found, segment, sign, paused),
            overshoot=None if holding is None else self._overshoot(index, holding, sign),
            hold_achieved=None if holding is None else holding.held,
            delay=None if span is None else found.hold_end - span.hold_end,
            hold_start=found.hold_start,
            own_delay=own,
            settled_after=None if holding is None else holding.settled_after,
            held_within=None if holding is None else holding.within,
            mean=None if holding is None else holding.mean,
            rate_planned=planned_rate,
        )
        return replace(compared, beyond=self._beyond(compared, segment)), holding

    def _overshoot(self, index: int, holding: Holding, sign: float) -> float:
        """Where the kiln goes on the same way at once, there is none to speak of."""
        later = self.plan.segments[index + 1 :]
        # After the last segment it is switched off, and cools.
        after = later[0].target - self.plan.segments[index].target if later else -1.0
        return 0.0 if holding.held == 0 and sign * after > 0 else holding.overshoot

    def _paused(self, begin: float | None, end: float) -> float:
        """s of interruptions between two moments."""
        if begin is None:
            return 0.0
        return sum(
            max(min(each.end, end) - max(each.begin, begin), 0.0)
            for each in self.finding.interruptions
        )

    def _rate(
        self, index: int, found: FoundSegment, segment: Segment, sign: float, paused: float
    ) -> float | None:
        begin = found.ramp_start
        end = found.hold_start if found.hold_start is not None else found.hold_end
        if begin is None or end is None:
            return None
        seconds = end - begin - self._paused(begin, end)
        if seconds <= 0:
            return None
        first = self._level_before(index, begin)
        last = self._level_at(end)
        if found.hold_start is not None:
            # The course through a target that was met is that target, to within a reading's noise.
            last = min(last, segment.target) if sign > 0 else max(last, segment.target)
        return sign * (last - first) / seconds * SECONDS_PER_HOUR

    def _level_before(self, index: int, begin: float) -> float:
        """°C from which a ramp goes: of the hold before it, or of the kiln at rest."""
        earlier = self.finding.segments[index - 1] if index else FoundSegment()
        since = earlier.hold_start if earlier.hold_start is not None else begin
        if not index:
            since = float(self.readings.times[0])
        _, shown = self.readings.between(max(since, begin - 600.0), begin)
        return float(shown.mean()) if shown.size > 3 else self._level_at(begin)

    def _level_at(self, moment: float) -> float:
        level, _ = self.readings.lines(np.array([moment]), max(90.0, 1.5 * self.readings.spacing))
        if np.isfinite(level[0]):
            return float(level[0])
        return float(np.interp(moment, self.readings.times, self.readings.temperatures))

    def _beyond(self, compared: SegmentComparison, segment: Segment) -> frozenset[str]:
        """What differs by more than the kiln's repeatability, each weighed in °C.

        A time counts as what the ramp would have gone in it; a hold as the temperature that would
        have done the same to the glass in the planned time. Moments that lie within two steps
        between readings are not told apart.
        """
        limit, told_apart = self.repeatability, TOLD_APART * self.readings.step
        beyond = set()
        if (compared.overshoot or 0.0) > limit:
            beyond.add("overshoot")
        if compared.mean is not None and abs(compared.mean - segment.target) > limit:
            beyond.add("mean")
        rate, achieved = compared.rate_planned, compared.rate_achieved
        if rate and achieved and compared.start is not None:
            end = compared.hold_start if compared.hold_start is not None else compared.end
            late = (end - compared.start) * (1.0 - achieved / rate) if end is not None else 0.0
            if abs(late) > told_apart and abs(late) * rate / SECONDS_PER_HOUR > limit:
                beyond.add("rate_achieved")
        if compared.own_delay is not None and rate:
            late = abs(compared.own_delay)
            if late > told_apart and late * rate / SECONDS_PER_HOUR > limit:
                beyond.add("own_delay")
        longer = (compared.hold_achieved or 0.0) - segment.hold
        told = compared.hold_achieved is not None and abs(longer) > told_apart
        if told and self._hold_in_degrees(segment, compared.hold_achieved or 0.0) > limit:
            beyond.add("hold_achieved")
        return frozenset(beyond)

    def _hold_in_degrees(self, segment: Segment, achieved: float) -> float:
        """°C by which the planned hold would have had to differ to do what the achieved one did."""
        if segment.hold <= 0 or achieved <= 0:
            return inf
        around = np.array([segment.target - 0.5, segment.target + 0.5])
        low, high = log10_viscosity(around, self.glass).tolist()
        return float(abs(log(achieved / segment.hold)) / ((low - high) * log(10.0)))
