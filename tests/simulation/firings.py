"""Simulated firings: a schedule run by a controller in a two-mass kiln, with what goes wrong.

Each carries its truth: when the controller really went from ramp to hold and on.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from firings.services.recording import Recording
from schedules.services.curve import Segment
from tests.simulation.kilns import HOUR, STEP, Controller, Drive, Plant, TwoMassKiln

READING_STEP = 30.0
"""s between two readings."""
NOISE = 1.0
"""°C, standard deviation of a reading."""
COLD = 60.0
"""°C at which the logger is switched off."""
MET = 2.0
"""°C within which a target counts as met where the kiln is slower than its ramp."""
SEEN = 10.0
"""°C/h of change, at least, for a ramp that was left early to show where."""
SLOWER = 0.85
"""Share of the asked rate below which a kiln was slower than its ramp at the end of it."""


@dataclass(frozen=True)
class Mishap:
    """What went another way than planned.

    Attributes
    ----------
    late : s for which the logger ran before the kiln was switched on
    skipped : segment that someone left early, and the share of its ramp or hold that was run
    skipped_hold : whether it was left in its hold, or else in its ramp
    lengthened : segment and s by which its hold was made longer
    cut : segment and s for which the power was off, from the middle of its ramp
    cut_hold : whether the power failed in the middle of the hold instead
    logger_dies : whether the logger was without power too
    ends : whether the kiln stayed off after it
    """

    late: float = 0.0
    skipped: tuple[int, float] | None = None
    skipped_hold: bool = True
    lengthened: tuple[int, float] | None = None
    cut: tuple[int, float] | None = None
    cut_hold: bool = False
    logger_dies: bool = False
    ends: bool = False


@dataclass
class TrueSegment:
    """s of the recording: None where it did not come to that.

    By the clock, a hold begins before a slow kiln has met its target: it counts from there. `held`
    is what it held, without the time for which the power was off and the kiln on its way back.
    """

    ramp_start: float | None = None
    hold_start: float | None = None
    hold_end: float | None = None
    held: float = 0.0


@dataclass(frozen=True)
class Boundary:
    """A moment at which the controller went on.

    Attributes
    ----------
    segment, kind : of the planned segment, and "start", "hold" or "end"
    time : s
    change : °C/h by which the noise-free rate differs after it
    slower : whether the kiln was slower than its ramp here, so that the target met counts
    """

    segment: int
    kind: str
    time: float
    change: float
    slower: bool = False


@dataclass(frozen=True)
class SimulatedFiring:
    segments: tuple[Segment, ...]
    recording: Recording
    times: NDArray[np.float64]
    temperatures: NDArray[np.float64]
    truth: tuple[TrueSegment, ...]
    mishap: Mishap = field(default_factory=Mishap)
    full_power_seconds: float = 0.0
    """s at full power that all the power given comes to: what a meter would count."""

    @property
    def peak(self) -> float:
        """Without noise, °C."""
        return float(self.temperatures.max())

    def cool_to(self, temperature: float) -> float:
        """s from switching on until the kiln stays below, without noise."""
        above = np.flatnonzero(self.temperatures > temperature)
        started = self.truth[0].ramp_start or 0.0
        return float(self.times[above[-1] + 1] - started)

    def rate(self, begin: float, end: float) -> float:
        """°C/h between two moments, without noise."""
        low, high = np.interp([begin, end], self.times, self.temperatures)
        return float((high - low) / (end - begin) * HOUR)

    def boundaries(self, around: float = 900.0) -> list[Boundary]:
        """All that the controller came to, with the change of rate over `around` s either way."""
        marks: list[tuple[int, str, float]] = []
        for index, true in enumerate(self.truth):
            if index == 0 and true.ramp_start is not None:
                marks.append((0, "start", true.ramp_start))
            if true.hold_start is not None and true.hold_end != true.hold_start:
                marks.append((index, "hold", true.hold_start))
            # Where a clock ran on and the target was never met, nothing marks the moment.
            unseen = true.hold_start is None and index != (self.mishap.skipped or (None,))[0]
            if true.hold_end is not None and not unseen:
                marks.append((index, "end", true.hold_end))
        found = []
        for number, (index, kind, time) in enumerate(marks):
            before = marks[number - 1][2] if number else self.times[0]
            after = marks[number + 1][2] if number + 1 < len(marks) else self.times[-1]
            left, right = max(before, time - around), min(after, time + around)
            behind = self.rate(left, time) if time - left > READING_STEP else 0.0
            ahead = self.rate(time, right) if right - time > READING_STEP else 0.0
            slower = self._slower(index, time) if kind != "start" else False
            if abs(ahead - behind) < SEEN and self.truth[index].hold_start is None:
                continue  # a ramp left for one of its own rate, short of any target: nothing bends
            found.append(Boundary(index, kind, time, abs(ahead - behind), slower))
        return found

    def _slower(self, index: int, time: float) -> bool:
        """Whether the ramp before this moment was the kiln's own, not the controller's."""
        true, asked = self.truth[index], self.segments[index].rate
        if true.hold_start is None or true.ramp_start is None:
            return False
        begin = max(true.ramp_start, true.hold_start - 600.0)
        if asked is None or begin >= true.hold_start:
            return True
        return abs(self.rate(begin, true.hold_start)) < SLOWER * asked


def simulate(
    kiln: TwoMassKiln,
    controller: Controller,
    segments: Sequence[Segment],
    rng: np.random.Generator,
    mishap: Mishap | None = None,
    *,
    noise: float = NOISE,
    reading_step: float = READING_STEP,
    until: float = COLD,
) -> SimulatedFiring:
    """Fire a schedule until the kiln is cold."""
    run = _Run(kiln, controller, tuple(segments), mishap or Mishap())
    run.whole(until)
    times = np.arange(len(run.shown)) * STEP
    shown = np.array(run.shown)
    every = max(round(reading_step / STEP), 1)
    read_times, readings = times[::every], shown[::every]
    readings = readings + rng.normal(0, noise, readings.size)
    kept = np.ones(read_times.size, dtype=bool)
    gaps = []
    if run.dark is not None and run.mishap.logger_dies:
        kept &= (read_times < run.dark[0]) | (read_times > run.dark[1])
        gaps.append(run.dark)
    recording = Recording(read_times[kept], readings[kept], gaps=tuple(gaps))
    return SimulatedFiring(
        run.segments,
        recording,
        times,
        shown,
        tuple(run.truth),
        mishap or Mishap(),
        run.full_power_seconds,
    )


class _Run:
    """A firing under way: every step's temperature, and the truth of each segment."""

    def __init__(
        self,
        kiln: TwoMassKiln,
        controller: Controller,
        segments: tuple[Segment, ...],
        mishap: Mishap,
    ) -> None:
        self.plant = Plant(kiln)
        self.drive = Drive(controller, self.plant.shown)
        self.controller = controller
        self.segments = segments
        self.mishap = mishap
        self.shown = [self.plant.shown]
        self.truth = [TrueSegment() for _ in segments]
        self.setpoint = self.plant.shown
        self.dark: tuple[float, float] | None = None
        self.ended = False
        self.away = 0.0
        self.full_power_seconds = 0.0

    @property
    def now(self) -> float:
        return (len(self.shown) - 1) * STEP

    def step(self, share: float) -> None:
        self.plant.step(share)
        self.full_power_seconds += share * STEP
        self.shown.append(self.plant.shown)

    def whole(self, until: float) -> None:
        for _ in range(round(self.mishap.late / STEP)):
            self.step(0.0)
        for index in range(len(self.segments)):
            if not self.ended:
                self.segment(index)
        cold = max(until, self.plant.kiln.ambient + 5.0)
        while self.plant.shown > cold:
            self.step(0.0)

    def segment(self, index: int) -> None:
        segment, true, mishap = self.segments[index], self.truth[index], self.mishap
        true.ramp_start = self.now
        left = 1.0
        if mishap.skipped is not None and mishap.skipped[0] == index:
            left = mishap.skipped[1]
        cut = mishap.cut if mishap.cut is not None and mishap.cut[0] == index else None
        ramp_left = left if not mishap.skipped_hold else 1.0
        ramp_cut = cut[1] if cut is not None and not mishap.cut_hold else 0.0
        if not self.ramp(segment, true, ramp_left, ramp_cut):
            true.hold_end = None if self.ended else self.now
            return
        hold = segment.hold * (left if mishap.skipped_hold else 1.0)
        if mishap.lengthened is not None and mishap.lengthened[0] == index:
            hold += mishap.lengthened[1]
        self.hold(segment, true, hold, cut[1] if cut is not None and mishap.cut_hold else 0.0)
        true.hold_end = None if self.ended else self.now

    def ramp(self, segment: Segment, true: TrueSegment, left: float, cut: float) -> bool:
        """To the target; False where someone went on before it was met, or the power stayed off."""
        first, target = self.plant.shown, segment.target
        self.setpoint = first if abs(self.setpoint - first) > 15.0 else self.setpoint
        rising = target > first
        pace = 1e9 if segment.rate is None else segment.rate / HOUR
        sign, waits = (1.0 if rising else -1.0), self.controller.guard is not None
        while True:
            shown = self.plant.shown
            done = (shown - first) / (target - first) if target != first else 1.0
            if cut and done >= 0.5:
                self.power_cut(cut)
                if self.ended:
                    return False
                cut = 0.0
                # Where it stands, it goes on from.
                self.setpoint = self.plant.shown
                rising = target > self.setpoint
                sign = 1.0 if rising else -1.0
            if left < 1.0 and done >= left:
                return False
            behind = sign * (self.setpoint - shown)
            if segment.rate is None or not waits or behind < (self.controller.guard or 0.0):
                self.setpoint += sign * pace * STEP
            self.setpoint = min(self.setpoint, target) if rising else max(self.setpoint, target)
            arrived = self.setpoint == target
            met = sign * (target - shown) <= self.controller.arrived
            if arrived and (met or not (waits or segment.rate is None)):
                return True
            self.step(self.drive.share(self.setpoint, shown))

    def hold(self, segment: Segment, true: TrueSegment, hold: float, cut: float) -> None:
        self.setpoint = segment.target
        gone = self.away = 0.0
        if abs(segment.target - self.plant.shown) <= MET:
            true.hold_start = self.now
        while gone < hold:
            if true.hold_start is None and abs(segment.target - self.plant.shown) <= MET:
                true.hold_start = self.now
            if cut and gone >= hold / 2:
                left = self.now
                self.power_cut(cut)
                if self.ended:
                    return
                cut = 0.0
                while segment.target - self.plant.shown > self.controller.arrived:
                    self.step(self.drive.share(segment.target, self.plant.shown))
                self.away = self.now - left
            self.step(self.drive.share(segment.target, self.plant.shown))
            gone += STEP
        if true.hold_start is not None:
            true.held = self.now - true.hold_start - self.away

    def power_cut(self, seconds: float) -> None:
        begin = self.now
        for _ in range(round(seconds / STEP)):
            self.step(0.0)
        self.dark = (begin, self.now)
        self.drive = Drive(self.controller, self.plant.shown)
        self.ended = self.mishap.ends
