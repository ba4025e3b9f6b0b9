"""What the verdicts so far say of the heat work that a schedule wants.

A judge sees slope × (ln W − ln W*) + noise and puts it into words by fixed cut points. W*, the
slope and the noise are unknown and are summed over a grid: the same input gives the same answer.
Other kilns, and the own kiln before a service, see W* shifted by an offset that is unknown too, and
shared by all firings there; it is summed over the same grid of ln W*, where a shift by a normal
offset is a weighted sum of shifted copies. So is what a judge's eye is off by at one sitting, which
all verdicts given there share.
"""

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from math import ceil, floor, hypot, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from firings.services.evidence import VERDICTS

Floats = NDArray[np.float64]

CUT_POINTS = (-1.5, -0.5, 0.5, 1.5)
"""Of the judgement, between well short, a touch short, as wanted, a touch far and well past."""

_SLOPE_SCORES = np.linspace(-2.0, 2.0, 6)
_NOISE_SCORES = np.linspace(-1.8, 1.8, 4)

# Our own estimates (common practice, no source). A slope of 4 makes a verdict a quarter of ln W
# wide, some 7 °C at 804 °C: the trade's first tries for a piece that came out a little short or a
# little far are 5 to 10 °C (`fault_table`). It moves by no less than 3 °C at a time: less is not
# told apart. Taken as one standard deviation between two judgements, each errs by 3/√2 °C, which is
# 0.3 of a verdict.
TYPICAL_SLOPE, TYPICAL_NOISE = 4.0, 0.3
SLOPE_SPREAD = NOISE_SPREAD = 0.3
"""Standard deviations of their logarithms, from schedule to schedule and from judge to judge."""
SLOPES: Floats = TYPICAL_SLOPE * np.exp(SLOPE_SPREAD * _SLOPE_SCORES)
SLOPE_WEIGHTS: Floats = np.exp(-(_SLOPE_SCORES**2) / 2)
NOISES: Floats = TYPICAL_NOISE * np.exp(NOISE_SPREAD * _NOISE_SCORES)
NOISE_WEIGHTS: Floats = np.exp(-(_NOISE_SCORES**2) / 2)

SITTING_SHARE = 0.5
"""Of the variance of a judge's noise, what belongs to the sitting (the light, what is remembered as
wanted) and not to the single piece: our own estimate, no source. A verdict by itself errs as ever.
Pieces judged beside one another share that half: they are told apart at 0.7 of the difference that
it takes from one day to another, and among them that half does not average away."""

SLIP = 0.02
"""Of all verdicts are taken to be a slip of the pen, any verdict as likely as another."""

REACH = 5.0
"""Standard deviations of the prior to which the grid of ln W* goes."""
STEPS = 12
"""Grid steps to a standard deviation of the prior, at least: some 0.7 °C at 804 °C."""
STEP_RATIO = 1.2
"""Steps are rounded down to a power of this, so that tables serve many schedules."""
TABLE_ROUNDING = 32
"""Tables reach over a multiple of this many steps, for the same reason."""
TABLES_KEPT = 32
"""Of some 0.4 MB each."""
KERNEL_REACH = 3.5
"""Standard deviations to which an unknown offset is summed."""
UNCERTAINTY_RATIO = 1.3
"""Uncertainties are rounded up to a power of this, so that few tables serve many firings."""
LEAST_UNCERTAINTY = 0.02
_FAINTEST = 500.0
"""Exponent beyond which all is equally unlikely: products stay normal numbers, which are fast."""
MOST_SERVICES = 4
"""Between a firing and now; more make it no vaguer."""


@dataclass(frozen=True)
class Judgement:
    """One verdict as evidence.

    Attributes
    ----------
    ln_heat_work : ln of the heat work in 1/Pa, in the glass as far as offsets are known
    uncertainty : its standard deviation
    verdict : −2 to +2
    kiln : names the kiln
    service_epoch : of that kiln
    apart : names what sets it apart from what the schedule is tuned by (another place on the
        shelf, another thickness); those set apart alike share an unknown shift. None for nothing.
    sitting : names the sitting at which it was judged against others; None where it was by itself
    """

    ln_heat_work: float
    uncertainty: float
    verdict: int
    kiln: Hashable
    service_epoch: int = 0
    apart: Hashable | None = None
    sitting: Hashable | None = None


@dataclass(frozen=True)
class Doubt:
    """What is not known beforehand, as standard deviations of ln(heat work).

    Attributes
    ----------
    target : of what the schedule wants, around its own heat work
    kiln : of another kiln's temperature against this one
    service : of a kiln's temperature after a service against before; elsewhere, in each epoch
        against that kiln's own
    kilns : the same as `kiln` for single kilns of which more is known
    apart : of the shifts by which `Judgement.apart` names them; 0 for one not named
    """

    target: float
    kiln: float
    service: float
    kilns: Mapping[Hashable, float] = field(default_factory=dict)
    apart: Mapping[Hashable, float] = field(default_factory=dict)

    def of_kiln(self, kiln: Hashable) -> float:
        """That of another kiln's temperature."""
        return self.kilns.get(kiln, self.kiln)


def log_chances(
    distance: ArrayLike, slopes: Floats, noises: Floats, uncertainty: float = 0.0
) -> Floats:
    """ln of the chance of each verdict at a distance from what is wanted.

    Parameters
    ----------
    distance : ln W − ln W*, shape (n,)
    slopes, noises : shapes (s,) and (t,)
    uncertainty : standard deviation of ln W

    Returns
    -------
    Shape (5, n, s, t), from well short to well past.

    Examples
    --------
    >>> chances = np.exp(log_chances([0.0], np.array([4.0]), np.array([0.4])))[:, 0, 0, 0]
    >>> [round(chance, 3) for chance in chances.tolist()]
    [0.004, 0.107, 0.777, 0.107, 0.004]
    """
    seen = np.asarray(distance, dtype=np.float64)[:, None, None] * slopes[:, None]
    spread = np.sqrt(noises**2 + (slopes[:, None] * uncertainty) ** 2)
    below = np.empty((6, *np.broadcast_shapes(seen.shape, spread.shape)))
    below[0], below[5] = 0.0, 1.0
    for number, cut in enumerate(CUT_POINTS, 1):
        below[number] = ndtr((cut - seen) / spread)
    result: Floats = np.log((1 - SLIP) * np.diff(below, axis=0) + SLIP / 5)
    return result


@dataclass(frozen=True)
class Beliefs:
    """How likely each target, slope and noise is.

    Attributes
    ----------
    targets : ln W*, evenly spaced, shape (m,)
    slopes, noises : shapes (s,) and (t,)
    probability : shape (m, s, t); its sum is 1
    log_evidence : ln of how likely all verdicts together were beforehand
    """

    targets: Floats
    slopes: Floats
    noises: Floats
    probability: Floats
    log_evidence: float = 0.0

    @cached_property
    def wanted(self) -> float:
        """The expected ln(heat work) that the schedule wants."""
        return float(self.targets @ self.probability.sum(axis=(1, 2)))

    @cached_property
    def doubt(self) -> float:
        """Standard deviation of the ln(heat work) that the schedule wants."""
        away = self.targets - self.wanted
        return sqrt(float(away**2 @ self.probability.sum(axis=(1, 2))))

    @cached_property
    def judging_spread(self) -> float:
        """What a single verdict leaves open, as a standard deviation of ln(heat work).

        The judge's noise, and half the width of "as wanted", over the slope.
        """
        over = np.sqrt(self.noises**2 + 1 / 12) / self.slopes[:, None]
        return float((self.probability.sum(axis=0) * over).sum())

    def chances(self, ln_heat_work: ArrayLike, uncertainty: float) -> Floats:
        """The chance of each verdict.

        Parameters
        ----------
        ln_heat_work : of the next firing as planned, shape (n,)
        uncertainty : standard deviation of what it will really be

        Returns
        -------
        Shape (n, 5), from well short to well past.
        """
        planned = np.asarray(ln_heat_work, dtype=np.float64)
        step = float(self.targets[1] - self.targets[0])
        low = int(np.floor((planned.min() - self.targets[0]) / step))
        high = int(np.ceil((planned.max() - self.targets[0]) / step)) + 1
        count = self.targets.size
        offsets = np.arange(low - count + 1, high + 1) * step
        table = np.exp(log_chances(offsets, self.slopes, self.noises, uncertainty))
        # offsets[i − j + count − 1] is node low + i less target j: the reverse of a correlation.
        weights = self.probability[::-1].reshape(-1)
        width = self.slopes.size * self.noises.size
        flat = table.reshape(len(VERDICTS), -1)
        nodes = np.arange(low, high + 1)
        curve = np.empty((nodes.size, len(VERDICTS)))
        for number in range(nodes.size):
            begin = number * width
            seen = flat[:, begin : begin + weights.size]
            curve[number] = np.einsum("vk,k->v", seen, weights)
        grid = self.targets[0] + nodes * step
        return np.stack([np.interp(planned, grid, column) for column in curve.T], axis=-1)


def infer(
    judgements: Sequence[Judgement],
    centre: float,
    doubt: Doubt,
    kiln: Hashable,
    *,
    service_epoch: int | None = None,
    slopes: Floats = SLOPES,
    slope_weights: Floats | None = None,
    noises: Floats = NOISES,
    noise_weights: Floats | None = None,
) -> Beliefs:
    """Beliefs about what the schedule wants in a kiln, from all verdicts so far.

    For each fixed slope and noise, one more "well past" anywhere never raises what is wanted: a
    verdict's likelihood falls with the target as seen in its kiln, and that rises with the target
    in every other.

    Parameters
    ----------
    judgements : in any order
    centre : ln(heat work) around which the prior lies: the schedule's own
    doubt : see `Doubt`
    kiln : the kiln of the next firing
    service_epoch : the kiln's now; None for the latest of its judgements
    slopes, noises : the grid, shapes (s,) and (t,)
    slope_weights, noise_weights : prior weights of the grid; None for the module's own on the
        module's grid, even ones on another

    Examples
    --------
    >>> doubt = Doubt(target=0.4, kiln=0.3, service=0.1)
    >>> short = Judgement(0.0, 0.1, -1, "A")
    >>> infer([short], 0.0, doubt, "A").wanted > infer([], 0.0, doubt, "A").wanted
    True
    """
    step = STEP_RATIO ** floor(log(doubt.target / STEPS) / log(STEP_RATIO))
    half = ceil(REACH * doubt.target / step)
    by_kiln: dict[Hashable, dict[int, list[Judgement]]] = defaultdict(lambda: defaultdict(list))
    for judgement in judgements:
        by_kiln[judgement.kiln][judgement.service_epoch].append(judgement)
    if service_epoch is None:
        service_epoch = max(by_kiln.get(kiln, {0: []}))
    sitting = _sitting_spreads(slopes, noises).max() if _sittings(judgements) else 0.0
    margin = ceil(KERNEL_REACH * hypot(_widest(by_kiln, doubt, kiln), sitting) / step)
    grid = _Grid(centre, step, half + margin, slopes, noises)
    total = np.zeros((grid.size, grid.width))
    for name, by_epoch in by_kiln.items():
        seen_there = np.zeros_like(total)
        for epoch, group in by_epoch.items():
            # Elsewhere no epoch is the one that counts: each has a shift of its own.
            behind = min(abs(service_epoch - epoch), MOST_SERVICES) if name == kiln else 1
            seen = grid.log_likelihood_with_shifts(group, doubt.apart)
            seen_there += grid.shifted(seen, doubt.service * sqrt(behind)) if behind else seen
        total += seen_there if name == kiln else grid.shifted(seen_there, doubt.of_kiln(name))
    inner = slice(margin, margin + 2 * half + 1)
    targets = grid.nodes[inner]
    log_prior = -(((targets - centre) / doubt.target) ** 2) / 2
    slope_prior = _prior(slopes, SLOPES, SLOPE_WEIGHTS, slope_weights)
    noise_prior = _prior(noises, NOISES, NOISE_WEIGHTS, noise_weights)
    parameters = np.outer(slope_prior, noise_prior)
    log_parameters = np.log(parameters / parameters.sum())
    posterior = total[inner].reshape(targets.size, slopes.size, noises.size)
    log_prior -= np.log(np.exp(log_prior).sum())
    posterior = posterior + log_prior[:, None, None] + log_parameters
    highest = float(posterior.max())
    probability = np.exp(posterior - highest)
    total_probability = float(probability.sum())
    return Beliefs(
        targets,
        slopes,
        noises,
        probability / total_probability,
        highest + log(total_probability),
    )


class _Grid:
    """The likelihoods on one grid of ln W, with one column for each slope and noise."""

    def __init__(
        self, centre: float, step: float, half: int, slopes: Floats, noises: Floats
    ) -> None:
        self.step = step
        self.size = 2 * half + 1
        self.nodes = centre + step * np.arange(-half, half + 1, dtype=np.float64)
        self.slopes, self.noises = slopes, noises
        self.width = slopes.size * noises.size
        self.reach = ceil(self.size / TABLE_ROUNDING) * TABLE_ROUNDING
        self._tables: dict[tuple[int, bool], Floats] = {}

    def log_likelihood(self, group: Sequence[Judgement]) -> Floats:
        """Of each target, by firings that share all offsets; shape (size, width)."""
        sittings = _sittings(group)
        alone = [one for one in group if one.sitting not in sittings]
        result = self._likelihood_by_itself(alone)
        for together in sittings.values():
            seen = self._likelihood_by_itself(together, self.noises * sqrt(1 - SITTING_SHARE))
            result += self._shifted_by_sitting(seen)
        return result

    def _likelihood_by_itself(
        self, group: Sequence[Judgement], noises: Floats | None = None
    ) -> Floats:
        """Each verdict by itself; `noises` other than the grid's, shape (t,)."""
        result = np.zeros((self.size, self.width))
        for judgement in group:
            position = (judgement.ln_heat_work - self.nodes[0]) / self.step
            position = min(max(position, 0.0), self.size - 1.0)
            node = min(int(position), self.size - 2)
            share = position - node
            table = self._table(judgement.uncertainty, noises)[judgement.verdict + 2]
            begin = self.reach - 1 - node
            result += (1 - share) * table[begin : begin + self.size]
            if share:
                result += share * table[begin - 1 : begin - 1 + self.size]
        return result

    def log_likelihood_with_shifts(
        self, group: Sequence[Judgement], doubts: Mapping[Hashable, float]
    ) -> Floats:
        """The same where some are set apart by a shift of their own."""
        alike = [one for one in group if one.apart not in doubts]
        result = self.log_likelihood(alike)
        for apart, spread in doubts.items():
            there = [one for one in group if one.apart == apart]
            if there:
                result += self.shifted(self.log_likelihood(there), spread)
        return result

    def _table(self, uncertainty: float, noises: Floats | None) -> Floats:
        """ln chances of each verdict from the hottest distance down; (5, 2·reach − 1, width)."""
        rounded = log(max(uncertainty, LEAST_UNCERTAINTY) / LEAST_UNCERTAINTY)
        power = ceil(rounded / log(UNCERTAINTY_RATIO) - 1e-9)
        key = power, noises is None
        if key not in self._tables:
            # Whoever asks for a grid of its own asks once; the module's serves note after note.
            own = self.slopes is SLOPES and self.noises is NOISES
            make = _kept_table if own else _table
            noises = self.noises if noises is None else noises
            self._tables[key] = make(
                self.step, self.reach, power, tuple(self.slopes), tuple(noises)
            )
        return self._tables[key]

    def shifted(self, log_likelihood: Floats, spread: float) -> Floats:
        """The same for a target seen through an offset that is normal with this spread."""
        if spread < self.step / 10:
            return log_likelihood
        # A sum of shifted copies: faster than a product with a matrix for a kernel this narrow, and
        # unlike that product the same to the last bit however many threads there are.
        reach = ceil(KERNEL_REACH * spread / self.step)
        shifts = np.arange(-reach, reach + 1)
        kernel = np.exp(-((shifts * self.step / spread) ** 2) / 2)
        return self._mixed(log_likelihood, shifts, kernel)

    def _shifted_by_sitting(self, log_likelihood: Floats) -> Floats:
        """For a target seen through what a judge is off by at one sitting, by slope and noise."""
        spreads = _sitting_spreads(self.slopes, self.noises).ravel()
        spreads = np.maximum(spreads, self.step / 10)  # narrower than the grid tells is none
        reach = ceil(KERNEL_REACH * float(spreads.max()) / self.step)
        shifts = np.arange(-reach, reach + 1)
        kernel = np.exp(-((shifts[:, None] * self.step / spreads) ** 2) / 2)
        return self._mixed(log_likelihood, shifts, kernel)

    def _mixed(self, log_likelihood: Floats, shifts: NDArray[np.int_], kernel: Floats) -> Floats:
        """Copies moved by `shifts` nodes, each with its share: one for all columns, or one each."""
        highest = log_likelihood.max(axis=0)
        likelihood = np.exp(np.maximum(log_likelihood - highest, -_FAINTEST))
        mixed = np.zeros_like(likelihood)
        weight = np.zeros((self.size, *([1] if kernel.ndim == 1 else [self.width])))
        for shift, share in zip(shifts.tolist(), kernel, strict=True):
            to = slice(max(-shift, 0), self.size - max(shift, 0))
            by = slice(max(shift, 0), self.size - max(-shift, 0))
            mixed[to] += share * likelihood[by]
            weight[to] += share
        result: Floats = np.log(mixed / weight) + highest
        return result


def _sitting_spreads(slopes: Floats, noises: Floats) -> Floats:
    """Standard deviation of ln W by which a judge is off at one sitting, shape (s, t)."""
    result: Floats = sqrt(SITTING_SHARE) * noises / slopes[:, None]
    return result


def _sittings(group: Sequence[Judgement]) -> dict[Hashable, list[Judgement]]:
    """Verdicts that were given beside others; whoever is the only one of its sitting is not."""
    found: dict[Hashable, list[Judgement]] = defaultdict(list)
    for one in group:
        if one.sitting is not None:
            found[one.sitting].append(one)
    return {name: together for name, together in found.items() if len(together) > 1}


def _table(
    step: float, reach: int, power: int, slopes: tuple[float, ...], noises: tuple[float, ...]
) -> Floats:
    distances = np.arange(reach - 1, -reach, -1) * step
    spread = LEAST_UNCERTAINTY * UNCERTAINTY_RATIO**power
    table = log_chances(distances, np.array(slopes), np.array(noises), spread)
    table = table.reshape(len(VERDICTS), distances.size, len(slopes) * len(noises))
    table.flags.writeable = False
    return table


_kept_table = lru_cache(maxsize=TABLES_KEPT)(_table)


def _widest(by_kiln: Mapping[Hashable, object], doubt: Doubt, own: Hashable) -> float:
    """The widest shift in play, so that no likelihood is cut off by the end of the grid."""
    kilns = [doubt.of_kiln(name) for name in by_kiln if name != own]
    apart = max(doubt.apart.values(), default=0.0)
    return sqrt(max(kilns, default=0.0) ** 2 + MOST_SERVICES * doubt.service**2 + apart**2)


def _prior(
    values: Floats, module_values: Floats, module_weights: Floats, weights: Floats | None
) -> Floats:
    if weights is None:
        weights = module_weights if values is module_values else np.ones(values.size)
    return weights
