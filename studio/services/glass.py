"""Glass as a viscous liquid: its viscosity, and what a firing does to it.

Heat work, ∫ dt/η, is what glass feels of a firing: flow under surface tension or weight over any
stretch of time depends on temperature through this integral alone, so two firings of equal heat
work round an edge, or sag into a mould, equally far.
"""

from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import roots_genlaguerre

Floats = NDArray[np.float64]

ZERO_CELSIUS = 273.15
"""0 °C in K."""

STRAIN_ISOKOM = 13.5
"""log10 of the viscosity at the strain point, Pa·s: 10^14.5 poise (ASTM C336, C598)."""
ANNEALING_ISOKOM = 12.0
"""log10 of the viscosity at the annealing point, Pa·s: 10^13 poise (ASTM C336, C598)."""
SOFTENING_ISOKOM = 6.6
"""log10 of the viscosity at the softening point, Pa·s: 10^7.6 poise (ISO 7884-1, ASTM C338)."""
WORKING_ISOKOM = 3.0
"""log10 of the viscosity at the working point, Pa·s: 10^4 poise."""


class VogelFulcherTammann(NamedTuple):
    """log10 η = limit + slope / (T − pole): η in Pa·s, T in °C."""

    limit: float
    slope: float
    pole: float


@dataclass(frozen=True)
class Glass:
    """A glass, as far as a kiln is concerned. The defaults are a float soda-lime data sheet's.

    Above the annealing point the viscosity follows the Vogel–Fulcher–Tammann law through the
    softening and the annealing point. Two points leave one freedom: it is taken from
    `working_point` where that is known, or else from `high_temperature_limit`. Below the annealing
    point an Arrhenius branch passes through the strain point, which is measured out of equilibrium
    and so has no place in the fit (ISO 7884).

    Parameters
    ----------
    strain_point, annealing_point, softening_point : °C
    expansion : linear, 1/K
    young : Young's modulus, Pa
    poisson : Poisson's ratio, [-]
    conductivity : W/(m·K)
    density : kg/m³
    heat_capacity : J/(kg·K)
    working_point : °C at which the viscosity is 10³ Pa·s, or None
    high_temperature_limit : log10 of the viscosity in Pa·s towards which the glass would tend when
        ever hotter; between −3.0 and −2.3 for the standard soda-lime glasses. Used only where no
        working point is given.

    Raises
    ------
    ValueError
        When the points are not in rising order, when a property is not positive, or when no
        Vogel–Fulcher–Tammann law passes through the three points.

    Examples
    --------
    >>> round(float(log10_viscosity(715.0, Glass())), 3)
    6.6
    """

    strain_point: float = 511.0
    annealing_point: float = 548.0
    softening_point: float = 715.0
    expansion: float = 8.3e-6
    young: float = 72e9
    poisson: float = 0.23
    conductivity: float = 0.937
    density: float = 2530.0
    heat_capacity: float = 880.0
    working_point: float | None = field(default=None, kw_only=True)
    high_temperature_limit: float = field(default=-2.6, kw_only=True)

    def __post_init__(self) -> None:
        if not -ZERO_CELSIUS < self.strain_point < self.annealing_point < self.softening_point:
            raise ValueError(
                "A glass's strain, annealing and softening points rise in this order: "
                f"{self.strain_point}, {self.annealing_point}, {self.softening_point} °C do not."
            )
        for name in ("expansion", "young", "conductivity", "density", "heat_capacity"):
            if not 0 < getattr(self, name) < np.inf:
                raise ValueError(f"A glass's {name} is a positive number: {getattr(self, name)}.")
        if not -1 < self.poisson < 0.5:
            raise ValueError(f"Poisson's ratio lies between −1 and 0.5: {self.poisson}.")
        if not -np.inf < self.high_temperature_limit < WORKING_ISOKOM:
            raise ValueError(
                f"No high-temperature limit of a glass: {self.high_temperature_limit}."
            )
        if self.working_point is not None and not self.softening_point < self.working_point:
            raise ValueError(
                f"The working point lies above the softening point: {self.working_point} °C."
            )
        if self.viscosity_law.pole >= self.annealing_point:
            raise ValueError("No Vogel–Fulcher–Tammann law passes through these three points.")

    @property
    def diffusivity(self) -> float:
        """Thermal diffusivity, m²/s."""
        return self.conductivity / (self.density * self.heat_capacity)

    @cached_property
    def viscosity_law(self) -> VogelFulcherTammann:
        """The Vogel–Fulcher–Tammann law above the annealing point."""
        cold, hot = self.annealing_point, self.softening_point
        if self.working_point is None:
            limit = self.high_temperature_limit
            pole = ((ANNEALING_ISOKOM - limit) * cold - (SOFTENING_ISOKOM - limit) * hot) / (
                ANNEALING_ISOKOM - SOFTENING_ISOKOM
            )
            return VogelFulcherTammann(limit, (ANNEALING_ISOKOM - limit) * (cold - pole), pole)
        # For three points, (L1−L2)(T3−T2) / ((L2−L3)(T2−T1)) = (T3−T0) / (T1−T0).
        hottest = self.working_point
        ratio = (
            (ANNEALING_ISOKOM - SOFTENING_ISOKOM)
            * (hottest - hot)
            / ((SOFTENING_ISOKOM - WORKING_ISOKOM) * (hot - cold))
        )
        if ratio <= 1:
            raise ValueError("No Vogel–Fulcher–Tammann law passes through these three points.")
        pole = (ratio * cold - hottest) / (ratio - 1)
        slope = (ANNEALING_ISOKOM - SOFTENING_ISOKOM) * (cold - pole) * (hot - pole) / (hot - cold)
        return VogelFulcherTammann(ANNEALING_ISOKOM - slope / (cold - pole), slope, pole)

    @cached_property
    def arrhenius_slope(self) -> float:
        """d(log10 η)/d(1/T) below the annealing point, K."""
        return (STRAIN_ISOKOM - ANNEALING_ISOKOM) / (
            1 / (self.strain_point + ZERO_CELSIUS) - 1 / (self.annealing_point + ZERO_CELSIUS)
        )


@overload
def log10_viscosity(temperature: float, glass: Glass) -> float: ...
@overload
def log10_viscosity(temperature: ArrayLike, glass: Glass) -> Floats: ...
def log10_viscosity(temperature: ArrayLike, glass: Glass) -> Floats | float:
    """The common logarithm of the viscosity.

    Parameters
    ----------
    temperature : °C, any shape
    glass : its fixed points; see `Glass` for the law

    Returns
    -------
    log10 of the viscosity in Pa·s, in the shape of `temperature`: a float for a float.
    (log10 in poise is one more.) NaN where the temperature is NaN.

    Raises
    ------
    ValueError
        At or below absolute zero.

    Examples
    --------
    >>> [round(v, 2) for v in log10_viscosity([511.0, 548.0, 715.0, 804.0], Glass()).tolist()]
    [13.5, 12.0, 6.6, 5.09]

    Sources: ISO 7884-1 and ASTM C338 (softening), ASTM C336 and C598 (annealing, strain).
    """
    celsius = np.asarray(temperature, dtype=np.float64)
    if np.any(celsius <= -ZERO_CELSIUS):
        raise ValueError("There is no viscosity at or below absolute zero.")
    law = glass.viscosity_law
    border = glass.annealing_point
    warm = law.limit + law.slope / (np.maximum(celsius, border) - law.pole)
    cold = ANNEALING_ISOKOM + glass.arrhenius_slope * (
        1 / (np.minimum(celsius, border) + ZERO_CELSIUS) - 1 / (border + ZERO_CELSIUS)
    )
    result = np.where(celsius > border, warm, cold)
    return float(result) if result.ndim == 0 else result


@overload
def fluidity(temperature: float, glass: Glass) -> float: ...
@overload
def fluidity(temperature: ArrayLike, glass: Glass) -> Floats: ...
def fluidity(temperature: ArrayLike, glass: Glass) -> Floats | float:
    """1/η, the heat work of one second at `temperature` (°C, any shape), in 1/(Pa·s).

    Examples
    --------
    >>> fluidity(548.0, Glass())
    1e-12
    """
    result = 10.0 ** -np.asarray(log10_viscosity(temperature, glass))
    return float(result) if result.ndim == 0 else result


_NODES, _WEIGHTS = roots_genlaguerre(8, 1.0)


def _antiderivative(temperature: Floats, glass: Glass) -> Floats:
    """∫ fluidity dT from very cold to `temperature`, °C/(Pa·s).

    Both branches are c·exp(−b/x), with x counted from the law's pole or from absolute zero, and
    ∫ exp(−b/x) dx = x·exp(−b/x)·(1 − z·e^z·E1(z)), z = b/x (Abramowitz & Stegun 5.1). The bracket
    is ∫ u·e^−u/(z + u) du over u > 0: eight nodes of Gauss–Laguerre quadrature give it without
    cancellation or underflow, to 1e-8 for z > 6, which is colder than any kiln can melt glass.
    """
    border = glass.annealing_point
    law = glass.viscosity_law

    def piece(celsius: Floats, pole: float, slope: float) -> Floats:
        above = celsius - pole
        exponent = slope * np.log(10.0) / above
        bracket = np.zeros_like(above)
        for node, weight in zip(_NODES.tolist(), _WEIGHTS.tolist(), strict=True):
            bracket += weight / (exponent + node)
        return above * fluidity(celsius, glass) * bracket

    cold = piece(np.minimum(temperature, border), -ZERO_CELSIUS, glass.arrhenius_slope)
    warm = temperature > border
    if not np.any(warm):
        return cold
    at_border = piece(np.array([border]), law.pole, law.slope)[0]
    cold[warm] += piece(temperature[warm], law.pole, law.slope) - at_border
    return cold


_LEVEL = 0.01
"""°C: a line that rises by less takes the fluidity of its middle, exact to 1e-8 there."""


def mean_fluidity(temperatures: ArrayLike, glass: Glass) -> Floats:
    """The mean of 1/η along the straight line from each sample to the next, in 1/(Pa·s).

    Parameters
    ----------
    temperatures : °C, one-dimensional, n values
    glass : see `Glass`

    Returns
    -------
    n − 1 values, exact to 1e-7 relative; NaN on both sides of a NaN.

    Examples
    --------
    >>> mean_fluidity([548.0, 548.0], Glass()).tolist()
    [1e-12]
    """
    celsius = np.asarray(temperatures, dtype=np.float64)
    rise = np.diff(celsius)
    level = np.abs(rise) < _LEVEL
    result = np.empty_like(rise)
    result[level] = fluidity(celsius[:-1][level] + rise[level] / 2, glass)
    if not np.all(level):
        np.divide(np.diff(_antiderivative(celsius, glass)), rise, out=result, where=~level)
    return result


def heat_work(times: ArrayLike, temperatures: ArrayLike, glass: Glass) -> float:
    """∫ dt/η over a firing whose samples are joined by straight lines.

    1/η is integrated in closed form along each line; the trapezoid rule on 1/η would be wrong by a
    factor of ten on a ramp with two samples.

    Parameters
    ----------
    times : s, one-dimensional, never falling (a repeated time is a step)
    temperatures : °C, of the same length
    glass : see `Glass`

    Returns
    -------
    Heat work in 1/Pa; 0 for fewer than two samples.

    Raises
    ------
    ValueError
        When the two differ in length, when time runs backwards, or when a value is not finite: for
        a recording with gaps there is `heat_work_bounds`.

    Examples
    --------
    >>> heat_work([0.0, 100.0], [548.0, 548.0], Glass())
    1e-10
    """
    seconds, celsius = _samples(times, temperatures)
    if not np.all(np.isfinite(celsius)):
        raise ValueError("Heat work needs a temperature for each time; gaps give only bounds.")
    if seconds.size < 2:
        return 0.0
    return float(np.dot(np.diff(seconds), mean_fluidity(celsius, glass)))


class HeatWorkBounds(NamedTuple):
    """The least and the greatest heat work, 1/Pa, that a recording with gaps allows."""

    low: float
    high: float


def heat_work_bounds(
    times: ArrayLike, temperatures: ArrayLike, glass: Glass, *, ceiling: float | None = None
) -> HeatWorkBounds:
    """What a recording with gaps says of the heat work: between which bounds it lies.

    A NaN temperature marks that nothing is known from the reading before it to the reading after
    it. Such a gap adds nothing to the lower bound, as if the kiln had been cold, and adds the
    fluidity at `ceiling` for all of its time to the upper bound. Nothing is interpolated.

    Parameters
    ----------
    times : s, one-dimensional, never falling
    temperatures : °C, of the same length, NaN in gaps
    glass : see `Glass`
    ceiling : °C that the kiln cannot have been above in a gap; by default the highest reading,
        which is a bound only where the controller goes on holding the kiln below its peak

    Returns
    -------
    HeatWorkBounds, equal where there is no gap.

    Raises
    ------
    ValueError
        As `heat_work`; and when there is no reading and no ceiling.

    Examples
    --------
    >>> nan = float("nan")
    >>> heat_work_bounds([0, 100, 200, 300], [548, 548, nan, 548], Glass())
    HeatWorkBounds(low=1e-10, high=3e-10)
    """
    seconds, celsius = _samples(times, temperatures)
    if np.any(np.isinf(celsius)):
        raise ValueError("A temperature is a finite number, or NaN in a gap.")
    if seconds.size < 2:
        return HeatWorkBounds(0.0, 0.0)
    known = ~np.isnan(celsius)
    if ceiling is None:
        if not np.any(known):
            raise ValueError("Without a single reading the heat work has no upper bound.")
        ceiling = float(np.max(celsius[known]))
    steps = np.diff(seconds)
    sure = known[:-1] & known[1:]
    low = float(np.dot(steps[sure], mean_fluidity(celsius, glass)[sure]))
    return HeatWorkBounds(low, low + float(np.sum(steps[~sure])) * fluidity(ceiling, glass))


def _samples(times: ArrayLike, temperatures: ArrayLike) -> tuple[Floats, Floats]:
    seconds = np.asarray(times, dtype=np.float64)
    celsius = np.asarray(temperatures, dtype=np.float64)
    if seconds.ndim != 1 or seconds.shape != celsius.shape:
        raise ValueError(
            f"Times and temperatures are series of one length: {seconds.shape}, {celsius.shape}."
        )
    if not np.all(np.isfinite(seconds)) or np.any(np.diff(seconds) < 0):
        raise ValueError("The times of a firing are finite and never run backwards.")
    return seconds, celsius
