"""What was recorded of a firing, held against what was planned."""

from dataclasses import KW_ONLY, dataclass, field
from math import log

import numpy as np

from firings.services.bands import NO_COOLING, Band, FastestCooling, bands, fastest_cooling
from firings.services.holding import QUIET, Holding, highest_without_noise
from firings.services.interruptions import Interruption
from firings.services.noted_top import misses_plan, ratio_by_the_top
from firings.services.readings import Readings
from firings.services.recording import Recording
from firings.services.segment_comparison import SegmentComparison, compare_segments
from firings.services.segment_finding import Finding, find_segments
from firings.services.stopping import (
    Stop,
    find_stop,
    stop_on_record,
    without_what_follows,
)
from firings.services.tips import sharpest_turn, tip_without_noise
from firings.services.top import find_top
from schedules.services.curve import Curve
from studio.services.glass import Glass, heat_work, log10_viscosity

HEAT_WORK_DEPTH = 60.0
"""°C below the top within which nearly all heat work is done: at 804 °C nine tenths of it."""
REPEATABILITY = 1.5
"""°C by which a kiln differs from firing to firing until it is known better (common practice)."""
LATE = 300.0
"""s after the first reading from which a start counts as late."""
APART = 1.5
"""°C by which a peak away from the top's hold is above it, to count instead."""
LONGEST_STEP = 600.0
"""s between two readings near the top beyond which they say nothing of the heat work."""


@dataclass(frozen=True)
class ComparisonRemark:
    """What could not be compared, or how it was: a code and its figures."""

    code: str
    figures: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Comparison:
    """Recorded less planned.

    Attributes
    ----------
    peak_difference : °C, or None where no temperature was recorded
    duration_difference : s to the end of the last segment, or to where the firing was stopped; or
        None
    heat_work_ratio : recorded over planned, or None
    hold_difference : s at the top, or None where it was not noted
    bands : see `Band`
    segments : one for each planned segment
    remarks : see `ComparisonRemark`
    cooling : the fastest between annealing and strain point, see `FastestCooling`
    interruptions : where the power failed, or nothing was read
    beyond : names of those of "peak_difference", "hold_difference", "heat_work_ratio" that are
        more than the kiln's repeatability; each segment has its own
    """

    peak_difference: float | None
    duration_difference: float | None
    heat_work_ratio: float | None
    hold_difference: float | None
    bands: tuple[Band, ...]
    segments: tuple[SegmentComparison, ...]
    remarks: tuple[ComparisonRemark, ...]
    _: KW_ONLY
    cooling: FastestCooling = NO_COOLING
    interruptions: tuple[Interruption, ...] = ()
    beyond: frozenset[str] = frozenset()

    @property
    def missed_plan(self) -> bool:
        """Whether the kiln did something else than was planned, at the top."""
        return misses_plan(self.peak_difference, self.hold_difference)


def compare(
    plan: Curve,
    recording: Recording,
    glass: Glass | None = None,
    *,
    repeatability: float = REPEATABILITY,
    process: str | None = None,
    stopped_at: float | None = None,
) -> Comparison:
    """Hold a recording against the plan.

    Peak and duration are enough: the heat work is then that of the plan with the recorded peak,
    and the recorded hold where it was noted, in place of the planned. A series of readings gives
    its own heat work where it is close enough together at the top, its peak without the noise of
    single readings, and each planned segment as it was found.

    Parameters
    ----------
    plan : the curve of the schedule in its kiln, in display temperatures
    recording : in the same terms
    glass : for heat work and the annealing range; by default `Glass()`
    repeatability : °C by which this kiln's firings of one plan differ at the top
    process : for the time in its range, as `process_ranges` names it
    stopped_at : s of the recording at which somebody noted that they stopped the firing; it goes
        before what the readings let one guess, unless it lies outside them or after the plan's end

    Returns
    -------
    Comparison

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0)
    >>> plan = planned_curve([Segment(200.0, 804.0, 600.0)], kiln)
    >>> seen = compare(plan, Recording(peak=797.0, duration=plan.duration))
    >>> seen.peak_difference, seen.duration_difference, round(seen.heat_work_ratio, 2)
    (-7.0, 0.0, 0.78)
    >>> seen.missed_plan
    True
    >>> times = np.arange(0.0, 40000.0, 30.0)
    >>> found = compare(plan, Recording(times, plan.at(times)))
    >>> abs(found.segments[0].hold_achieved - 600) < 60, abs(found.duration_difference) < 60
    (True, True)
    """
    glass = glass or Glass()
    remarks: list[ComparisonRemark] = []
    readings = Readings.of(recording) if plan.segments else None
    finding, stop, segments = None, None, _noted_of_the_top(plan, recording)
    holdings: tuple[Holding | None, ...] = ()
    if readings is not None:
        finding = find_segments(plan, readings)
        if stopped_at is not None:
            stop = stop_on_record(plan, readings, finding, stopped_at)
        stop = stop or find_stop(plan, readings, finding)
        if stop is not None:
            finding = without_what_follows(finding, stop)
            remarks.append(_stopped(stop))
        segments, holdings = compare_segments(plan, readings, finding, glass, repeatability)
        remarks += _not_found(plan, readings, finding)
    peak = _peak(plan, recording, readings, segments, holdings)
    duration = _duration(recording, finding, stop, remarks)
    peak_difference = None if peak is None else peak - plan.peak
    hold_difference = _hold_difference(plan, recording, segments)
    ratio = _heat_work_ratio(plan, recording, readings, peak, glass, remarks)
    return Comparison(
        peak_difference=peak_difference,
        duration_difference=_difference(duration, plan.duration),
        heat_work_ratio=ratio,
        hold_difference=hold_difference,
        bands=bands(plan, readings, glass, process),
        segments=segments,
        remarks=tuple(remarks),
        cooling=fastest_cooling(plan, readings, glass),
        interruptions=() if finding is None else finding.interruptions,
        beyond=_beyond(plan, peak_difference, hold_difference, ratio, glass, repeatability),
    )


def _noted_of_the_top(plan: Curve, recording: Recording) -> tuple[SegmentComparison, ...]:
    """What somebody noted at the top, where there is no series."""
    if not plan.segments:
        return ()
    top, peak = find_top(plan.segments), recording.highest
    return tuple(
        SegmentComparison(index)
        if index != top.index or peak is None
        else SegmentComparison(
            index, overshoot=max(peak - top.peak, 0.0), hold_achieved=recording.hold
        )
        for index in range(len(plan.segments))
    )


def _stopped(stop: Stop) -> ComparisonRemark:
    figures = {
        "segment": float(stop.segment),
        "begin": stop.moment,
        "temperature": stop.temperature,
    }
    return ComparisonRemark("stopped_early", figures)


def _not_found(plan: Curve, readings: Readings, finding: Finding) -> list[ComparisonRemark]:
    """What the readings do not show, and what they show that was not planned."""
    told = []
    if readings.joined:
        told.append(ComparisonRemark("readings_joined", {"step": readings.step}))
    if finding.began_before:
        told.append(ComparisonRemark("began_before_the_readings"))
    start = finding.segments[0].ramp_start
    if start is not None and start - readings.times[0] > LATE:
        told.append(ComparisonRemark("started_late", {"seconds": start - float(readings.times[0])}))
    told += [
        ComparisonRemark(
            "interrupted" if each.depth else "gap",
            {"begin": each.begin, "end": each.end, "depth": each.depth},
        )
        for each in finding.interruptions
    ]
    found = [index for index, one in enumerate(finding.segments) if one.hold_end is not None]
    last = max(found, default=-1)
    for index, (segment, one) in enumerate(zip(plan.segments, finding.segments, strict=True)):
        figures = {"segment": float(index)}
        if one.hold_end is None:
            after = "segment_not_come_to" if index > last else "segment_not_found"
            told.append(ComparisonRemark(after, figures))
        elif one.hold_start is None:
            told.append(ComparisonRemark("target_not_met", {**figures, "target": segment.target}))
        elif segment.hold > 0 and one.hold_end - one.hold_start < readings.step:
            told.append(ComparisonRemark("hold_not_found", figures))
    return told


def _peak(
    plan: Curve,
    recording: Recording,
    readings: Readings | None,
    segments: tuple[SegmentComparison, ...],
    holdings: tuple[Holding | None, ...],
) -> float | None:
    """°C: without noise where there is a series; a note counts where it is above all readings."""
    highest = recording.highest
    if readings is None or highest is None or readings.noise < QUIET:
        return highest
    read = float(np.nanmax(recording.temperatures))
    if highest > read:
        return highest
    _, peak = highest_without_noise(readings)
    index = find_top(plan.segments).index
    top, end = holdings[index], segments[index].end
    if top is None:
        # No hold: a tip, which smoothing would cut off.
        turned = sharpest_turn(readings) if end is None else end
        fitted = tip_without_noise(readings, turned)
        if end is None and fitted is not None:
            # Away from the top, a hold may have been hotter than where its fall began.
            return max(peak, fitted)
    else:
        fitted = None if top is None else top.furthest
    # What is fitted is the better of the two, unless the peak was elsewhere.
    return peak if fitted is None or peak > fitted + APART else fitted


def _hold_difference(
    plan: Curve, recording: Recording, segments: tuple[SegmentComparison, ...]
) -> float | None:
    """s at the top: as it was noted, or else as it was found."""
    if not plan.segments:
        return None
    top = find_top(plan.segments)
    hold = recording.hold if recording.hold is not None else segments[top.index].hold_achieved
    return None if hold is None else hold - top.hold


def _beyond(
    plan: Curve,
    peak: float | None,
    hold: float | None,
    ratio: float | None,
    glass: Glass,
    repeatability: float,
) -> frozenset[str]:
    """What is more than the kiln's repeatability, weighed in °C at the top."""
    names = set()
    if peak is not None and abs(peak) > repeatability:
        names.add("peak_difference")
    if not plan.segments:
        return frozenset(names)
    top = find_top(plan.segments)
    around = np.array([top.peak - 0.5, top.peak + 0.5])
    low, high = log10_viscosity(around, glass).tolist()
    per_degree = (low - high) * log(10.0)
    if ratio is not None and (not ratio > 0 or abs(log(ratio)) > repeatability * per_degree):
        names.add("heat_work_ratio")
    if hold is not None and abs(hold) > max(top.hold, 60.0) * repeatability * per_degree:
        names.add("hold_difference")
    return frozenset(names)


def _duration(
    recording: Recording,
    finding: Finding | None,
    stop: Stop | None,
    remarks: list[ComparisonRemark],
) -> float | None:
    """s to the end of the last segment: as noted, as found, or else of all readings."""
    if recording.duration is not None:
        return recording.duration
    if recording.times.size < 2:
        remarks.append(ComparisonRemark("duration_not_recorded"))
        return None
    ended = stop.moment if stop is not None else None
    if finding is not None and ended is None:
        ended = finding.segments[-1].hold_end
    if finding is not None and ended is not None:
        start = finding.segments[0].ramp_start
        return ended - (float(recording.times[0]) if start is None else start)
    duration = float(recording.times[-1] - recording.times[0])
    remarks.append(ComparisonRemark("duration_from_readings", {"duration": duration}))
    return duration


def _difference(recorded: float | None, planned: float | None) -> float | None:
    return None if recorded is None or planned is None else recorded - planned


def _heat_work_ratio(
    plan: Curve,
    recording: Recording,
    readings: Readings | None,
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
        # Ten thousand points over a firing give it to 1e-3; a day of seconds only takes longer.
        seen = recording if readings is None or readings.joined else readings
        return heat_work(seen.times, seen.temperatures, glass) / plan.heat_work(glass)
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
    ratio = ratio_by_the_top(plan, peak, recording.hold, glass)
    if ratio is None:
        remarks.append(ComparisonRemark("peak_beyond_the_plan", {"peak": peak}))
    return ratio


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
    # A peak that was noted counts; one that is fitted may lie a little above all readings.
    noted = -np.inf if recording.peak is None else recording.peak
    if longest > LONGEST_STEP or noted > float(recording.temperatures[hot].max()):
        remarks.append(ComparisonRemark("readings_too_far_apart", {"longest": longest}))
        return False
    return True
