"""How much hotter or colder each place of a shelf is than its reference place.

Two kinds of evidence: temperatures measured place by place at one time, and the verdicts of pieces
that lay there in ordinary firings. A judge sees slope × (ln W + place − ln W*) and puts it into
words by fixed cut points, as in `firings.services.verdict_model`; what each firing and each
schedule has to itself is unknown too. Places are taken as drawn from one shelf, so that a place of
which little is known lies near to the reference. All unknowns are found together, at the most
probable values, with their spread from the curvature there (Laplace's approximation; A. Gelman et
al., Bayesian Data Analysis, 3rd ed., ch. 4 and 13), for several slopes and shelves, weighed by how
well they explain what was seen.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import exp, log, pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from firings.services.evidence import VERDICTS
from firings.services.verdict_model import (
    CUT_POINTS,
    LEAST_UNCERTAINTY,
    NOISE_SPREAD,
    SLIP,
    SLOPE_SPREAD,
    TYPICAL_NOISE,
    TYPICAL_SLOPE,
)

Floats = NDArray[np.float64]

SHELVES = (1.5, 4.0, 10.0)
"""°C, standard deviations by which the places of a shelf differ: from an even one to a poor one
(common practice, no source). Which of them it is comes from what was seen."""
_SCORES = (-1.2, 0.0, 1.2)
_WEIGHTS = tuple(exp(-(score**2) / 2.0) for score in _SCORES)
SLOPES = tuple(TYPICAL_SLOPE * exp(SLOPE_SPREAD * score) for score in _SCORES)
NOISES = tuple(TYPICAL_NOISE * exp(NOISE_SPREAD * score) for score in _SCORES)
OCCASION_DOUBT = 60.0
"""°C, of what a measurement's places share: nothing is known of it beforehand."""
NEED_DOUBT = 1.0
"""Of ln(heat work), by which a schedule may want another than it was given: 30 °C at 804 °C."""
NAMED_FROM = 0.6
"""Chance from which a place is called the coldest: three to two (our own choice)."""
COLDER_BY = 2.0
"""°C below the reference or the next place that count: what a kiln repeats to (our own choice)."""
DEVIATIONS = 2.2
"""Standard deviations that hold 95 of 100 places: Laplace's approximation is a little too sure, and
of simulated kilns (`tests/simulation/measuring.py`) 2.0 of them hold 93."""
DRAWS = 4000
TURNS = 40
CLOSE = 1e-6


@dataclass(frozen=True)
class PlaceTemperature:
    """One place in one measurement.

    Attributes
    ----------
    occasion : names the measurement
    place : names the place
    glass : °C
    doubt : standard deviation of its own, °C
    """

    occasion: Hashable
    place: Hashable
    glass: float
    doubt: float


@dataclass(frozen=True)
class PlaceVerdict:
    """One judged piece.

    Attributes
    ----------
    firing, schedule, place : name them
    verdict : −2 to +2
    ln_heat_work : of the firing by its display, 1/Pa
    doubt : its standard deviation
    per_degree : by how much it grows with 1 °C at the top of that schedule
    """

    firing: Hashable
    schedule: Hashable
    place: Hashable
    verdict: int
    ln_heat_work: float
    doubt: float
    per_degree: float


@dataclass(frozen=True)
class PlaceEvenness:
    """What is known of one place.

    Attributes
    ----------
    place : names it
    difference : glass there less glass at the reference place, °C
    spread : ± °C that holds 95 of 100; 0 for the reference itself
    readings, pieces : how many temperatures and verdicts are behind it
    coldest : chance that it is the coldest of all places of which anything is known
    """

    place: Hashable
    difference: float
    spread: float
    readings: int
    pieces: int
    coldest: float

    @property
    def is_sure(self) -> bool:
        """Whether it differs from the reference by more than its spread."""
        return abs(self.difference) > self.spread > 0.0


@dataclass(frozen=True)
class Evenness:
    """A shelf.

    Attributes
    ----------
    places : those of which anything is known, the coldest first
    range : hottest less coldest, °C
    range_spread : ± °C that holds 95 of 100
    """

    places: tuple[PlaceEvenness, ...]
    range: float
    range_spread: float

    @property
    def coldest(self) -> PlaceEvenness | None:
        """The coldest place, where the odds are good enough to name it."""
        likely = max(self.places, key=lambda each: each.coldest)
        return likely if likely.coldest >= NAMED_FROM else None


def evenness(
    temperatures: Sequence[PlaceTemperature],
    verdicts: Sequence[PlaceVerdict],
    reference: Hashable,
) -> Evenness | None:
    """The shelf by all that was measured and judged.

    Parameters
    ----------
    temperatures, verdicts : in any order, of one kiln and one epoch
    reference : names the place from which the others are told

    Returns
    -------
    None where fewer than two places were seen.

    Raises
    ------
    ValueError: for a verdict beyond −2 or +2, a doubt that is not positive or a heat work that is
    not finite.

    Examples
    --------
    >>> tiles = [PlaceTemperature(n, "centre", 804.0, 3.0) for n in range(4)]
    >>> tiles += [PlaceTemperature(n, "front", 794.0, 3.0) for n in range(4)]
    >>> shelf = evenness(tiles, [], "centre")
    >>> shelf.coldest.place, -10.0 < shelf.coldest.difference < -7.0
    ('front', True)
    """
    _refuse(temperatures, verdicts)
    seen = {each.place for each in temperatures} | {each.place for each in verdicts}
    others = sorted((place for place in seen if place != reference), key=str)
    if len(seen) < 2:
        return None
    problem = _Problem(temperatures, verdicts, others, reference)
    fits = [problem.fit(shelf, judge) for judge in _judges(verdicts) for shelf in SHELVES]
    best = max(fit.log_weight for fit in fits)
    weights = np.array([exp(fit.log_weight - best) for fit in fits])
    weights /= weights.sum()
    draws = _draws(fits, weights, len(others))
    if reference in seen:
        others = [*others, reference]
        draws = np.column_stack([draws, np.zeros(len(draws))])
    # A place counts as the coldest where it lies clearly below: a tie is nobody's.
    order = np.sort(draws, axis=1)
    clear = order[:, 1] - order[:, 0] >= COLDER_BY
    lowest = np.where(clear, draws.argmin(axis=1), -1)
    spans = draws.max(axis=1) - draws.min(axis=1)
    places = [
        PlaceEvenness(
            place=place,
            difference=float(draws[:, number].mean()),
            spread=DEVIATIONS * float(draws[:, number].std()),
            readings=sum(each.place == place for each in temperatures),
            pieces=sum(each.place == place for each in verdicts),
            coldest=float(np.mean(lowest == number)),
        )
        for number, place in enumerate(others)
    ]
    places.sort(key=lambda each: each.difference)
    return Evenness(tuple(places), float(spans.mean()), DEVIATIONS * float(spans.std()))


@dataclass(frozen=True)
class _Judge:
    """How one may judge, and how likely that is beforehand."""

    slope: float
    noise: float
    weight: float


def _judges(verdicts: Sequence[PlaceVerdict]) -> list[_Judge]:
    if not verdicts:
        return [_Judge(TYPICAL_SLOPE, TYPICAL_NOISE, 1.0)]
    return [
        _Judge(slope, noise, of_slope * of_noise)
        for slope, of_slope in zip(SLOPES, _WEIGHTS, strict=True)
        for noise, of_noise in zip(NOISES, _WEIGHTS, strict=True)
    ]


@dataclass(frozen=True)
class _Fit:
    """The places' differences as a normal distribution, and ln of what speaks for it."""

    mean: Floats
    covariance: Floats
    log_weight: float


class _Problem:
    """All unknowns in one vector: places (°C), measurements (°C), schedules and firings (ln W)."""

    def __init__(
        self,
        temperatures: Sequence[PlaceTemperature],
        verdicts: Sequence[PlaceVerdict],
        others: Sequence[Hashable],
        reference: Hashable,
    ) -> None:
        self.places = len(others)
        occasions = list(dict.fromkeys(each.occasion for each in temperatures))
        schedules = list(dict.fromkeys(each.schedule for each in verdicts))
        firings = list(dict.fromkeys(each.firing for each in verdicts))
        at = {("place", place): number for number, place in enumerate(others)}
        for kind, names in (("run", occasions), ("need", schedules), ("firing", firings)):
            at |= {(kind, name): len(at) + number for number, name in enumerate(names)}
        self.size = len(at)
        self.middle = np.zeros(self.size)
        self.prior = np.empty(self.size)
        self.measured = np.zeros((len(temperatures), self.size))
        for row, each in enumerate(temperatures):
            self.measured[row, at["run", each.occasion]] = 1.0
            if each.place != reference:
                self.measured[row, at["place", each.place]] = 1.0
        self.glass = np.array([each.glass for each in temperatures])
        self.precision = np.array([each.doubt**-2.0 for each in temperatures])
        for occasion in occasions:
            own = [each.glass for each in temperatures if each.occasion == occasion]
            self.middle[at["run", occasion]] = np.mean(own)
            self.prior[at["run", occasion]] = OCCASION_DOUBT
        # Of each verdict only three unknowns, and their factors: a matrix of them would be nearly
        # empty, and its products by far the slowest part.
        self.terms = np.zeros((len(verdicts), 3), dtype=np.int64)
        self.factors = np.zeros((len(verdicts), 3))
        self.given = np.array([each.ln_heat_work for each in verdicts])
        for row, judged in enumerate(verdicts):
            firing, need = at["firing", judged.firing], at["need", judged.schedule]
            place = at.get(("place", judged.place))
            self.terms[row] = firing, need, firing if place is None else place
            self.factors[row] = 1.0, -1.0, 0.0 if place is None else judged.per_degree
            self.prior[firing] = max(judged.doubt, LEAST_UNCERTAINTY)
        self.pairs = self.terms[:, :, None] * self.size + self.terms[:, None, :]
        self.products = self.factors[:, :, None] * self.factors[:, None, :]
        for schedule in schedules:
            own = [each.ln_heat_work for each in verdicts if each.schedule == schedule]
            self.middle[at["need", schedule]] = np.median(own)
            self.prior[at["need", schedule]] = NEED_DOUBT
        self.start = self.middle
        self.words = np.array([each.verdict for each in verdicts], dtype=np.int64) + 2

    def fit(self, shelf: float, judge: _Judge) -> _Fit:
        """By Fisher's scoring from where the last one ended, no step being one back."""
        spread = self.prior.copy()
        spread[: self.places] = shelf
        inverse = spread**-2.0
        point, found = self.start, self._log_chance(self.start, inverse, judge)
        information = np.diag(inverse)
        for _ in range(TURNS):
            gradient, information = self._curvature(point, inverse, judge)
            step = np.linalg.solve(information, gradient)
            for _ in range(TURNS):
                better = self._log_chance(point + step, inverse, judge)
                if better >= found:
                    break
                step = step / 2.0
            point, gain, found = point + step, better - found, max(better, found)
            if gain < CLOSE:
                break
        self.start = point
        covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
        evidence = found - float(np.log(spread).sum()) - np.linalg.slogdet(information)[1] / 2.0
        inner = slice(0, self.places)
        return _Fit(point[inner], covariance[inner, inner], evidence + log(judge.weight))

    def _chances(self, point: Floats, judge: _Judge) -> tuple[Floats, Floats]:
        apart = (self.factors * point[self.terms]).sum(axis=1)
        return _chances(judge.slope * (self.given + apart), judge.noise)

    def _log_chance(self, point: Floats, inverse: Floats, judge: _Judge) -> float:
        """ln of prior times likelihood, but for what does not change."""
        off = self.glass - self.measured @ point
        chance = -float(inverse @ (point - self.middle) ** 2 + self.precision @ off**2) / 2.0
        chances, _ = self._chances(point, judge)
        return chance + float(np.log(chances[np.arange(self.words.size), self.words]).sum())

    def _curvature(self, point: Floats, inverse: Floats, judge: _Judge) -> tuple[Floats, Floats]:
        """The gradient, and the information: that of verdicts as expected, never negative."""
        off = self.glass - self.measured @ point
        chances, slopes = self._chances(point, judge)
        rows = np.arange(self.words.size)
        pull = judge.slope * slopes[rows, self.words] / chances[rows, self.words]
        told = judge.slope**2 * (slopes**2 / chances).sum(axis=1)
        gradient = -inverse * (point - self.middle)
        gradient += self.measured.T @ (self.precision * off)
        gradient += _summed(self.terms, self.factors * pull[:, None], self.size)
        information = np.diag(inverse)
        information += (self.measured.T * self.precision) @ self.measured
        by_pair = _summed(self.pairs, self.products * told[:, None, None], self.size**2)
        information += by_pair.reshape(self.size, self.size)
        return gradient, information


def _summed(at: NDArray[np.int64], values: Floats, size: int) -> Floats:
    """The values added up by where they belong."""
    return np.bincount(at.ravel(), values.ravel(), minlength=size).astype(np.float64)


def _chances(seen: Floats, noise: float) -> tuple[Floats, Floats]:
    """Of each verdict where a judge sees this, and how it changes with that; shape (n, 5) both."""
    edges = (np.array([-np.inf, *CUT_POINTS, np.inf]) - seen[:, None]) / noise
    below = ndtr(edges)
    density = np.exp(-(edges**2) / 2.0) / (sqrt(2.0 * pi) * noise)
    chances = (1.0 - SLIP) * np.diff(below, axis=1) + SLIP / len(VERDICTS)
    return chances, -(1.0 - SLIP) * np.diff(density, axis=1)


def _draws(fits: Sequence[_Fit], weights: Floats, places: int) -> Floats:
    """Shelves as they may be, each fit by its weight; always the same ones. Shape (draws, places).

    Stratified over the fits, so that chance decides nothing but the numbers within each.
    """
    normal = np.random.default_rng(0).standard_normal((DRAWS, places))
    ends = np.rint(np.cumsum(weights) * DRAWS).astype(np.int64)
    drawn = np.empty_like(normal)
    start = 0
    for fit, end in zip(fits, ends.tolist(), strict=True):
        root = np.linalg.cholesky(fit.covariance)
        drawn[start:end] = fit.mean + normal[start:end] @ root.T
        start = end
    return drawn


def _refuse(temperatures: Sequence[PlaceTemperature], verdicts: Sequence[PlaceVerdict]) -> None:
    if any(not -2 <= each.verdict <= 2 for each in verdicts):
        raise ValueError("A verdict goes from −2 to 2.")
    if any(not each.doubt > 0 for each in temperatures):
        raise ValueError("A measured temperature has a doubt above 0.")
    if not np.all(np.isfinite([each.ln_heat_work for each in verdicts])):
        raise ValueError("A firing without a heat work says nothing of its shelf.")
