"""What was recorded of a firing, held against what was planned."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from firings.services.recording import Recording
from firings.services.top import find_top, with_top
from schedules.services.curve import Curve, planned_curve
from schedules.services.process_ranges import DEVITRIFICATION
from studio.services.glass import Glass, heat_work

Floats = NDArray[np.float64]

PEAK_TOLERANCE = 5.0
"""°C at the top beyond which the kiln missed the plan (common practice, no source)."""
HOLD_TOLERANCE = 300.0
"""s of hold beyond which it did (common practice, no source)."""
HEAT_WORK_DEPTH = 60.0
"""°C below the top within which nearly all heat work is done: at 804 °C nine tenths of it."""
LONGEST_STEP = 600.0
"""s between two readings near the top beyond which they say nothing of the heat work."""


@dataclass(frozen=True)
class ComparisonRemark:
    """What could not be compared, or how it was: a code and its figures."""

    code: str
    figures: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Band:
    """The time spent in a range of temperatures.

    Attributes
    ----------
    name : "devitrification" or "annealing"
    low, high : °C
    planned : s
    recorded : s, or None without a series of readings
    """

    name: str
    low: float
    high: float
    planned: float
    recorded: float | None


@dataclass(frozen=True)
class SegmentComparison:
    """A planned segment as it was found in the recording; None for what was not found.

    Attributes
    ----------
    index : of the planned segment
    start : s of the recording at which its ramp begins
    end : s at which its hold ends
    rate_achieved : °C/h
    overshoot : °C above its target, 0 where it stayed below
    hold_achieved : s
    delay : s behind the plan
    """

    index: int
    start: float | None = None
    end: float | None = None
    rate_achieved: float | None = None
    overshoot: float | None = None
    hold_achieved: float | None = None
    delay: float | None = None


@dataclass(frozen=True)
class Comparison:
    """Recorded less planned.

    Attributes
    ----------
    peak_difference : °C, or None where no temperature was recorded
    duration_difference : s to the end of the last segment, or None
    heat_work_ratio : recorded over planned, or None
    hold_difference : s at the top, or None where it was not noted
    bands : see `Band`
    segments : one for each planned segment
    remarks : see `ComparisonRemark`
    """

    peak_difference: float | None
    duration_difference: float | None
    heat_work_ratio: float | None
    hold_difference: float | None
    bands: tuple[Band, ...]
    segments: tuple[SegmentComparison, ...]
    remarks: tuple[ComparisonRemark, ...]

    @property
    def missed_plan(self) -> bool:
        """Whether the kiln did something else than was planned, at the top."""
        return (
            abs(self.peak_difference or 0.0) > PEAK_TOLERANCE
            or abs(self.hold_difference or 0.0) > HOLD_TOLERANCE
        )


def compare(plan: Curve, recording: Recording, glass: Glass | None = None) -> Comparison:
    """Hold a recording against the plan.

    Peak and duration are enough: the heat work is then that of the plan with the recorded peak,
    and the recorded hold where it was noted, in place of the planned. A series of readings, close
    enough together at the top, gives its own heat work.

    Parameters
    ----------
    plan : the curve of the schedule in its kiln, in display temperatures
    recording : in the same terms
    glass : for heat work and the annealing range; by default `Glass()`

    Returns
    -------
    Comparison. Segments are not looked for in the readings; only what was noted of the top is told.

    Examples
    --------
    >>> from schedules.services.curve import Segment
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0)
    >>> plan = planned_curve([Segment(200.0, 804.0, 600.0)], kiln)
    >>> seen = compare(plan, Recording(peak=797.0, duration=plan.duration))
    >>> seen.peak_difference, seen.duration_difference, round(seen.heat_work_ratio, 2)
    (-7.0, 0.0, 0.78)
    >>> seen.missed_plan
    True
    """
    glass = glass or Glass()
    remarks: list[ComparisonRemark] = []
    peak = recording.highest
    duration = _duration(recording, remarks)
    top = find_top(plan.segments) if plan.segments else None
    hold_difference = None
    if top is not None and recording.hold is not None:
        hold_difference = recording.hold - top.hold
    return Comparison(
        peak_difference=None if peak is None else peak - plan.peak,
        duration_difference=_difference(duration, plan.duration),
        heat_work_ratio=_heat_work_ratio(plan, recording, peak, glass, remarks),
        hold_difference=hold_difference,
        bands=_bands(plan, recording, glass),
        segments=tuple(
            _segment(index, plan, recording, peak) for index in range(len(plan.segments))
        ),
        remarks=tuple(remarks),
    )


def _duration(recording: Recording, remarks: list[ComparisonRemark]) -> float | None:
    if recording.duration is not None:
        return recording.duration
    if recording.times.size < 2:
        remarks.append(ComparisonRemark("duration_not_recorded"))
        return None
    duration = float(recording.times[-1] - recording.times[0])
    remarks.append(ComparisonRemark("duration_from_readings", {"duration": duration}))
    return duration


def _difference(recorded: float | None, planned: float | None) -> float | None:
    return None if recorded is None or planned is None else recorded - planned


def _heat_work_ratio(
    plan: Curve,
    recording: Recording,
    peak: float | None,
    glass: Glass,
    remarks: list[ComparisonRemark],
) -> float | None:
    if plan.unreached is not None:
        remarks.append(ComparisonRemark("plan_not_reached", {"segment": plan.unreached}))
        return None
    if peak is None:
        remarks.append(ComparisonRemark("peak_not_recorded"))
        return None
    if _resolves_the_top(recording, peak, remarks):
        recorded = heat_work(recording.times, recording.temperatures, glass)
        return recorded / plan.heat_work(glass)
    return _ratio_by_the_top(plan, recording, peak, glass, remarks)


def _ratio_by_the_top(
    plan: Curve,
    recording: Recording,
    peak: float,
    glass: Glass,
    remarks: list[ComparisonRemark],
) -> float | None:
    """The plan's heat work with the recorded peak and hold, over the plan's."""
    if recording.hold is None:
        remarks.append(ComparisonRemark("hold_taken_as_planned"))
    top = find_top(plan.segments)
    target = top.peak + peak - plan.peak
    hold = top.hold if recording.hold is None else recording.hold
    others = [s.target for i, s in enumerate(plan.segments) if i != top.index]
    if target <= max(others, default=-np.inf) or not plan.response.reaches(target):
        remarks.append(ComparisonRemark("peak_beyond_the_plan", {"peak": peak}))
        return None
    works = [
        planned_curve(segments, plan.response, plan.start).heat_work(glass)
        for segments in (with_top(plan.segments, target, hold), plan.segments)
    ]
    return works[0] / works[1]


def _resolves_the_top(recording: Recording, peak: float, remarks: list[ComparisonRemark]) -> bool:
    """Whether the readings by themselves tell the heat work: close together, and on both sides."""
    if recording.times.size < 2:
        return False
    if not np.all(np.isfinite(recording.temperatures)):
        remarks.append(ComparisonRemark("readings_with_gaps"))
        return False
    hot = np.flatnonzero(recording.temperatures > peak - HEAT_WORK_DEPTH)
    if not hot.size or hot[0] == 0 or hot[-1] == recording.times.size - 1:
        remarks.append(ComparisonRemark("readings_miss_the_top"))
        return False
    longest = float(np.diff(recording.times[hot[0] - 1 : hot[-1] + 2]).max())
    if longest > LONGEST_STEP or peak > float(recording.temperatures[hot].max()):
        remarks.append(ComparisonRemark("readings_too_far_apart", {"longest": longest}))
        return False
    return True


def _segment(
    index: int, plan: Curve, recording: Recording, peak: float | None
) -> SegmentComparison:
    top = find_top(plan.segments)
    if index != top.index or peak is None:
        return SegmentComparison(index)
    overshoot = max(peak - top.peak, 0.0)
    return SegmentComparison(index, overshoot=overshoot, hold_achieved=recording.hold)


def _bands(plan: Curve, recording: Recording, glass: Glass) -> tuple[Band, ...]:
    ranges = (
        ("devitrification", DEVITRIFICATION.low, DEVITRIFICATION.high),
        ("annealing", glass.strain_point, glass.annealing_point),
    )
    return tuple(
        Band(
            name,
            low,
            high,
            time_between(plan.times, plan.temperatures, low, high),
            time_between(recording.times, recording.temperatures, low, high)
            if recording.times.size > 1
            else None,
        )
        for name, low, high in ranges
    )


def time_between(times: Floats, temperatures: Floats, low: float, high: float) -> float:
    """Seconds for which a series, joined by straight lines, lies from `low` to `high` (°C).

    Stretches beside a missing value are left out.

    Examples
    --------
    >>> time_between(np.array([0.0, 100.0]), np.array([700.0, 800.0]), 700.0, 760.0)
    60.0
    """
    steps = np.diff(times)
    coldest = np.minimum(temperatures[:-1], temperatures[1:])
    hottest = np.maximum(temperatures[:-1], temperatures[1:])
    rise = hottest - coldest
    inside = np.clip(np.minimum(hottest, high) - np.maximum(coldest, low), 0.0, None)
    level = (rise == 0) & (coldest >= low) & (coldest <= high)
    share = np.divide(inside, rise, out=np.where(level, 1.0, 0.0), where=rise > 0)
    return float(np.sum(steps * share))
