"""How well what is found in simulated firings agrees with how they really went."""

from dataclasses import dataclass, field

import numpy as np

from firings.services.comparison import Comparison, compare
from firings.services.kiln_learning import learn_response
from schedules.services.curve import planned_curve
from schedules.services.predicting import COVERAGE, predict_time
from studio.services.kiln_response import KilnResponse
from tests.simulation.firings import Mishap, SimulatedFiring, simulate
from tests.simulation.kilns import random_controller, random_kiln
from tests.simulation.schedules import random_mishap, random_schedule

PRIOR = KilnResponse(1150.0, 6000.0, 10000.0, slow_cooling_time_constant=18000.0)
"""What a studio might have on record of a kiln that it knows little of."""
SHARP = 30.0
"""°C/h of change from which a boundary is to be found within 3 readings."""
OPENED_AT = 100.0
WAITING = 0.8
"""Share of controllers that wait for their kiln; the rest run by the clock."""
NEVER = float("inf")


@dataclass
class Found:
    """s and °C by which what was found differs from the truth; infinite where it was not found."""

    sharp: list[float] = field(default_factory=list)
    blunt: list[float] = field(default_factory=list)
    peaks: list[float] = field(default_factory=list)
    holds: list[float] = field(default_factory=list)

    def share(self, name: str, within: float) -> float:
        return float(np.mean(np.array(getattr(self, name)) <= within))


def random_firing(seed: int) -> SimulatedFiring:
    rng = np.random.default_rng(seed)
    kiln = random_kiln(rng)
    controller = random_controller(rng, waits=bool(rng.random() < WAITING))
    segments = random_schedule(rng)
    return simulate(kiln, controller, segments, rng, random_mishap(rng, segments))


def found_in(seeds: range) -> Found:
    """What `compare` finds in a simulated firing for each seed."""
    found = Found()
    for seed in seeds:
        firing = random_firing(seed)
        plan = planned_curve(firing.segments, PRIOR)
        score(firing, compare(plan, firing.recording), plan.peak, found)
    return found


def score(firing: SimulatedFiring, seen: Comparison, planned_peak: float, found: Found) -> None:
    for boundary in firing.boundaries():
        one = seen.segments[boundary.segment]
        moment = {"start": one.start, "hold": one.hold_start, "end": one.end}[boundary.kind]
        off = NEVER if moment is None else abs(moment - boundary.time)
        (found.sharp if boundary.change >= SHARP else found.blunt).append(off)
    assert seen.peak_difference is not None
    found.peaks.append(abs(seen.peak_difference + planned_peak - firing.peak))
    for true, one in zip(firing.truth, seen.segments, strict=True):
        if true.held > 0:
            achieved = one.hold_achieved
            found.holds.append(NEVER if achieved is None else abs(achieved - true.held))


@dataclass
class Learnt:
    """Shares by which predicted times to 100 °C miss, and whether the range held."""

    misses: list[float] = field(default_factory=list)
    inside: list[bool] = field(default_factory=list)
    coverage: float = COVERAGE


def learnt_from(seeds: range, recordings: int = 5) -> Learnt:
    """In a kiln for each seed: learn from some firings, mishaps and all, predict another."""
    learnt = Learnt()
    for seed in seeds:
        rng = np.random.default_rng(seed)
        kiln, waits = random_kiln(rng), bool(rng.random() < WAITING)
        controller = random_controller(rng, waits)
        seen, plans = [], []
        for _ in range(recordings):
            segments = random_schedule(rng)
            firing = simulate(kiln, controller, segments, rng, random_mishap(rng, segments))
            seen.append(firing.recording)
            plans.append(planned_curve(segments, PRIOR))
        response = learn_response(seen, plans, PRIOR)
        segments = random_schedule(rng)
        firing = simulate(kiln, controller, segments, rng, Mishap())
        predicted = predict_time(segments, response, OPENED_AT, waits=waits)
        if predicted is None:
            learnt.misses.append(NEVER)
            learnt.inside.append(False)
            continue
        real = firing.cool_to(OPENED_AT)
        learnt.misses.append(abs(predicted.expected / real - 1.0))
        learnt.inside.append(predicted.earliest <= real <= predicted.latest)
    return learnt
