"""A simulated studio that tunes one schedule: a hidden target, and rules that look for it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from firings.services.decision import AS_WANTED, keyable_changes
from firings.services.evidence import PEAK_AND_DURATION_UNCERTAINTY
from firings.services.top import GlassTerms, with_top
from firings.services.verdict_model import log_chances
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Glass()
KILN = KilnResponse(1150.0, 7000.0, 11000.0)
SEGMENTS = (
    Segment(200.0, 620.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    Segment(None, 510.0, 3600.0),
    Segment(80.0, 370.0, 0.0),
)
LIMITS = StepLimits()
SITUATION = Situation(SEGMENTS, KILN, GLASS, "A")

CUTS = np.array([-1.5, -0.5, 0.5, 1.5])
RECORDING_ERROR = 0.08
"""Of ln(heat work): what a recorded peak and duration miss, below what the advice allows for."""


@dataclass(frozen=True)
class Truth:
    """What nobody knows: the ln(heat work) wanted, how steeply a verdict follows it, its noise."""

    target: float
    slope: float
    noise: float


Rule = Callable[[Situation, list[PastFiring]], tuple[float, float]]


def truths(count: int, seed: int, *, spread_c: float = 12.0) -> list[Truth]:
    rng = np.random.default_rng(seed)
    own, degree = GlassTerms(SITUATION).own, GlassTerms(SITUATION).per_degree
    return [
        Truth(
            own + rng.normal(0.0, spread_c * degree),
            4.0 * np.exp(rng.normal(0.0, 0.3)),
            0.4 * np.exp(rng.normal(0.0, 0.3)),
        )
        for _ in range(count)
    ]


def by_advice(situation: Situation, past: list[PastFiring]) -> tuple[float, float]:
    note = advise(past, situation, LIMITS)
    return note.peak_change, note.hold_change


def by_fixed_step(_situation: Situation, past: list[PastFiring]) -> tuple[float, float]:
    return -5.0 * np.sign(past[-1].verdict or 0), 0.0


def by_proportion(_situation: Situation, past: list[PastFiring]) -> tuple[float, float]:
    return -5.0 * (past[-1].verdict or 0) * 0.8, 0.0


def oracle(truth: Truth) -> Rule:
    def rule(situation: Situation, _past: list[PastFiring]) -> tuple[float, float]:
        changes = keyable_changes(GlassTerms(situation), LIMITS)
        chances = log_chances(
            changes.ln_heat_work - truth.target,
            np.array([truth.slope]),
            np.array([truth.noise]),
            0.05,
        )[AS_WANTED, :, 0, 0]
        best = int(np.argmax(chances))
        return float(changes.peak_changes[best]), float(changes.hold_changes[best])

    return rule


def tune(
    truth: Truth, rule: Rule, seed: int, firings: int = 15, *, until_wanted: bool = False
) -> list[int]:
    """The verdicts of one tuning run, or of its beginning up to the first "as wanted"."""
    rng = np.random.default_rng(seed)
    situation, past, verdicts = SITUATION, [], []
    degree = GlassTerms(SITUATION).per_degree
    for number in range(firings):
        planned = planned_curve(situation.segments, KILN).heat_work(GLASS)
        done = np.log(planned) + rng.normal(0.0, situation.repeatability * degree)
        judged = truth.slope * (done - truth.target) + rng.normal(0.0, truth.noise)
        verdict = int(np.searchsorted(CUTS, judged)) - 2
        recorded = float(np.exp(done + rng.normal(0.0, RECORDING_ERROR)))
        past.append(
            PastFiring("A", recorded, PEAK_AND_DURATION_UNCERTAINTY, verdict, firing=number)
        )
        verdicts.append(verdict)
        if until_wanted and verdict == 0:
            break
        peak_change, hold_change = rule(situation, past)
        top = GlassTerms(situation).top
        segments = with_top(
            situation.segments, top.peak + peak_change, max(top.hold + hold_change, 0.0)
        )
        situation = replace(situation, segments=tuple(segments))
    return verdicts


def firings_until_wanted(verdicts: list[int]) -> int:
    """How many firings it took; one more than there were where it never came out as wanted."""
    return verdicts.index(0) + 1 if 0 in verdicts else len(verdicts) + 1
