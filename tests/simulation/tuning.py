"""Simulated studios that tune a schedule: hidden truths, kilns that are off, judges that err.

A firing is run in full: the display's curve with what the controller misses, the glass through the
kiln's hidden offset, a verdict by the true physics, and a recording of one of the known kinds. What
the rules see is what a studio would have: recordings and verdicts.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import exp, hypot, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from firings.services.evidence import (
    FULL_RECORDING_UNCERTAINTY,
    PEAK_AND_DURATION_UNCERTAINTY,
    PastFiring,
    Situation,
    StepLimits,
    beside_the_plan,
    heat_work_uncertainty,
)
from firings.services.pieces import OTHER_PLACE_UNCERTAINTY
from firings.services.top import GlassTerms, with_top
from firings.services.verdict_model import (
    CUT_POINTS,
    NOISE_SPREAD,
    SITTING_SHARE,
    SLOPE_SPREAD,
    TYPICAL_NOISE,
    TYPICAL_SLOPE,
)
from firings.services.weighing import OFFSET_DOUBT, SCHEDULE_DOUBT
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import ZERO_CELSIUS, Glass
from studio.services.kiln_response import KilnResponse

Floats = NDArray[np.float64]

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
DEGREE = GlassTerms(SITUATION).per_degree

CONTROL_ERROR = 0.5
"""°C, standard deviation of a display's peak about what was keyed."""
NODES = np.linspace(690.0, 910.0, 23)
"""°C of peak at which another physics is tabulated."""
GAS_CONSTANT = 8.314
"""J/(mol·K)."""


@dataclass(frozen=True)
class Truth:
    """What nobody knows of a run.

    Attributes
    ----------
    target : effect that is wanted, as the peak (°C in the glass) that gives it with 10 min of hold
    slope : verdicts to a unit of the effect's logarithm
    noise : of the judge, in verdicts
    offset : of the kiln, glass minus display, °C
    """

    target: float
    slope: float
    noise: float
    offset: float


@dataclass(frozen=True)
class World:
    """How the simulated world differs from the model's own.

    Attributes
    ----------
    target_spread, offset_spread : standard deviations, °C
    noise_factor : judges' noise against the assumed
    slips : share of verdicts that are a slip of the pen
    drift : °C by which the offset rises from firing to firing
    activation : J/mol of an Arrhenius effect; None for the glass's own viscosity
    recorded : what is recorded of a firing, each kind with its share
    places : °C between places on the shelf, standard deviation, where an ordinary piece lies where
        there is room; the tiles of a series lie at the place by which the shelf is judged
    """

    target_spread: float = SCHEDULE_DOUBT
    offset_spread: float = OFFSET_DOUBT
    noise_factor: float = 1.0
    slips: float = 0.0
    drift: float = 0.0
    activation: float | None = None
    recorded: tuple[tuple[str, float], ...] = (("full_recording", 1.0),)
    places: float = 0.0


def truths(count: int, seed: int, world: World) -> list[Truth]:
    """Drawn from the spreads that the model states, or from the world's own."""
    rng = np.random.default_rng(seed)
    return [
        Truth(
            804.0 + rng.normal(0.0, world.target_spread),
            TYPICAL_SLOPE * exp(rng.normal(0.0, SLOPE_SPREAD)),
            TYPICAL_NOISE * exp(rng.normal(0.0, NOISE_SPREAD)) * world.noise_factor,
            rng.normal(0.0, world.offset_spread),
        )
        for _ in range(count)
    ]


@lru_cache(maxsize=4096)
def terms_of(peak: float, hold: float) -> GlassTerms:
    """The schedule with another top, in the kiln as far as it is known."""
    return GlassTerms(replace(SITUATION, segments=tuple(with_top(SEGMENTS, peak, hold))))


@dataclass(frozen=True)
class Sitting:
    """At which the tiles of a series are judged beside one another.

    Attributes
    ----------
    off : of the judge there, in standard deviations
    share : of the variance of the judge's noise that is the sitting's
    name : as the logbook tells it; None where it does not
    """

    off: float
    share: float = SITTING_SHARE
    name: str | None = "a sitting"


class Effect:
    """ln of what a firing does to the glass, by the physics of a world."""

    def __init__(self, activation: float | None) -> None:
        self._activation = activation
        self._base = None if activation is None else self._tabulated(activation)

    def __call__(self, peak: float, hold: float) -> float:
        """At a peak in the glass, °C, with a hold in s."""
        return float(self.many(np.array([peak]), np.array([hold]))[0])

    def many(self, peaks: Floats, holds: Floats) -> Floats:
        """The same for several, in shape (n,)."""
        if self._base is None:
            return terms_of(804.0, 600.0).felt.ln_heat_work(peaks, holds)
        result: Floats = np.log(np.exp(self._base(peaks)) + holds * self._speed(peaks))
        return result

    def _speed(self, temperatures: Floats) -> Floats:
        """Against that at 804 °C, so that slopes stay comparable."""
        kelvin = temperatures + ZERO_CELSIUS
        assert self._activation is not None
        scale = self._activation / GAS_CONSTANT
        result: Floats = np.exp(scale * (1 / (804.0 + ZERO_CELSIUS) - 1 / kelvin))
        return result

    def _tabulated(self, activation: float) -> CubicSpline:
        values = []
        for peak in NODES:
            curve = planned_curve(with_top(SEGMENTS, float(peak), 0.0), KILN)
            seconds = np.linspace(0.0, float(curve.cool_to(300.0) or 0.0), 20_001)
            speeds = self._speed(np.asarray(curve.at(seconds), dtype=np.float64))
            values.append(np.trapezoid(speeds, seconds))
        return CubicSpline(NODES, np.log(values))


class Studio:
    """One run: fires what it is told, and keeps what a logbook would."""

    def __init__(
        self,
        truth: Truth,
        world: World,
        seed: int,
        *,
        kiln: str = "A",
        effect: Effect | None = None,
    ) -> None:
        self.truth, self.world, self.kiln = truth, world, kiln
        self.effect = effect or Effect(world.activation)
        self.rng = np.random.default_rng(seed)
        self.wanted = self.effect(truth.target, 600.0)
        self.offset = truth.offset
        self.past: list[PastFiring] = []
        self.verdicts: list[int] = []
        self.whims, self.shelf = (np.random.default_rng((seed, number)) for number in (1, 2))
        self.forecasts: list[float] = []
        self.offsets: dict[str, float] = {}

    def fire(self, peak: float, hold: float, sitting: Sitting | None = None) -> int:
        """Fire the schedule with this top, judge it, and enter it in the logbook.

        At a sitting it is judged beside others: a share of the judge's noise is theirs together.
        """
        # Every draw is made each time, so that rules meet the same luck.
        control, repeat, judge, misread = self.rng.normal(size=4)
        kind = self._kind(self.rng.random())
        slips, slipped = self.rng.random() < self.world.slips, int(self.rng.integers(-2, 3))
        if sitting is not None:
            own = 1 - sitting.share
            judge = sqrt(sitting.share) * sitting.off + sqrt(own) * judge
        control_error = CONTROL_ERROR * control
        if kind == "plan_only":
            unseen = heat_work_uncertainty(kind) ** 2 - FULL_RECORDING_UNCERTAINTY**2
            control_error = sqrt(unseen) / DEGREE * control
        shown = peak + control_error
        felt = shown + self.offset + SITUATION.repeatability * repeat
        place = self.shelf.normal(0.0, self.world.places)
        elsewhere = sitting is None and self.world.places > 0
        felt += place if elsewhere else 0.0
        effect = self.effect(felt, hold)
        judged = self.truth.slope * (effect - self.wanted) + self.truth.noise * judge
        verdict = int(np.searchsorted(CUT_POINTS, judged)) - 2
        verdict = slipped if slips else verdict
        self.offset += self.world.drift
        entered = self._entered(kind, peak, shown, hold, verdict, misread)
        name = None if sitting is None else sitting.name
        spread = hypot(entered.uncertainty, OTHER_PLACE_UNCERTAINTY if elsewhere else 0.0)
        self.past.append(replace(entered, sitting=name, uncertainty=spread))
        self.verdicts.append(verdict)
        return verdict

    def _kind(self, draw: float) -> str:
        total = 0.0
        for kind, share in self.world.recorded:
            total += share
            if draw < total:
                return kind
        return self.world.recorded[-1][0]

    def _entered(
        self, kind: str, peak: float, shown: float, hold: float, verdict: int, misread: float
    ) -> PastFiring:
        table = terms_of(804.0, 600.0).display
        ln_work = float(table.ln_heat_work(peak if kind == "plan_only" else shown, hold))
        heat_work, uncertainty = exp(ln_work), heat_work_uncertainty(kind)
        if kind == "peak_and_duration":
            missed = PEAK_AND_DURATION_UNCERTAINTY**2 - FULL_RECORDING_UNCERTAINTY**2
            planned = exp(float(table.ln_heat_work(peak, hold)))
            heat_work, uncertainty = beside_the_plan(
                heat_work * exp(sqrt(missed) * misread), planned
            )
        return PastFiring(
            SITUATION.kiln,
            heat_work,
            uncertainty,
            verdict,
            firing=len(self.past),
            hold=None if kind == "plan_only" else hold,
        )


Rule = Callable[[GlassTerms, Studio], tuple[float, float]]
"""From the schedule as it stands and the run so far to a change of peak (°C) and hold (s)."""

AS_BEGUN = (804.0, 600.0)
"""°C and s: the top with which every run begins."""


def tune(
    studio: Studio,
    rule: Rule,
    firings: int,
    *,
    begin: tuple[float, float] = AS_BEGUN,
    ask_first: bool = False,
    until_wanted: bool = False,
) -> tuple[float, float]:
    """Fire and change in turn, or until the first "as wanted"; gives the top as it then stands.

    `ask_first` asks the rule before the first firing too, for a run that has a history.
    """
    peak, hold = begin
    for number in range(firings):
        if number or ask_first:
            peak_change, hold_change = rule(terms_of(peak, hold), studio)
            peak, hold = peak + peak_change, max(hold + hold_change, 0.0)
        if studio.fire(peak, hold) == 0 and until_wanted:
            break
    return peak, hold


def firings_until_wanted(verdicts: Sequence[int]) -> int:
    """How many firings it took; one more than there were where it never came out as wanted."""
    return verdicts.index(0) + 1 if 0 in verdicts else len(verdicts) + 1
