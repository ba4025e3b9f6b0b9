"""Heat on its way through a slab of glass.

The slab is thin against its width, so heat flows through the thickness alone. It is heated and
cooled at both faces, or at one with the other lying on something that passes no heat; one face is
half of a slab of twice the thickness. Depth counts from the plane in the middle (or the face that
passes no heat), which is the hottest on cooling, to the face that follows the kiln.
"""

from dataclasses import dataclass
from math import inf, isfinite, log, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg.lapack import dptsv

from studio.services.glass import Glass
from studio.services.kiln_response import SECONDS_PER_HOUR

Floats = NDArray[np.float64]

CELLS = 32
"""Layers between the middle plane and the face, of equal thickness."""

_GAMMA = 1.0 - sqrt(0.5)
"""Of the two-stage implicit step of second order that damps what is stiff (R. Alexander, SIAM J.
Numer. Anal. 14 (1977) 1006; memory)."""


def conduction_path(thickness: float, faces: int) -> float:
    """How far heat travels, in m: half of the thickness with two faces, all of it with one.

    Raises
    ------
    ValueError
        For a thickness that is not positive, or other than one or two faces.

    Examples
    --------
    >>> conduction_path(0.025, 2)
    0.0125
    """
    if not 0 < thickness < inf:
        raise ValueError(f"A piece has a thickness above 0: {thickness} m.")
    if faces not in (1, 2):
        raise ValueError(f"A slab cools from one face or from two, not from {faces}.")
    return thickness / faces


def diffusion_time(thickness: float, glass: Glass, faces: int = 1) -> float:
    """a²/κ in s: the time by which conduction through the slab counts.

    Examples
    --------
    >>> round(diffusion_time(0.025, Glass(), faces=2))
    371
    """
    return conduction_path(thickness, faces) ** 2 / glass.diffusivity


def steady_difference(rate: float, thickness: float, glass: Glass, faces: int = 1) -> float:
    """How much warmer the middle plane is than the face while the face cools steadily.

    R·a²/(2κ), with a from `conduction_path`; so R·d²/(8κ) from both faces of a slab of thickness d
    and R·d²/(2κ) from one. The difference comes within 1 % of it after twice `diffusion_time`. The
    mean lags the face by two thirds of it.

    Parameters
    ----------
    rate : °C/h
    thickness : m
    glass : for its diffusivity
    faces : 1 or 2

    Returns
    -------
    °C, with the sign of the rate.

    Source: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (memory).

    Examples
    --------
    >>> round(steady_difference(15.0, 0.025, Glass()), 2)
    3.09
    """
    return rate / SECONDS_PER_HOUR * diffusion_time(thickness, glass, faces) / 2


def steady_rate(difference: float, thickness: float, glass: Glass, faces: int = 1) -> float:
    """The rate, in °C/h, that holds the middle plane `difference` (°C) from the face.

    Examples
    --------
    >>> round(steady_rate(steady_difference(15.0, 0.025, Glass()), 0.025, Glass()), 9)
    15.0
    """
    return 2 * difference / diffusion_time(thickness, glass, faces) * SECONDS_PER_HOUR


def evening_time(
    difference: float, left: float, thickness: float, glass: Glass, faces: int = 1
) -> float:
    """How long a slab takes to even out while its face is held, in s.

    Of the Fourier series of a slab that starts from the profile of a steady rate, the slowest term
    alone: 32/π³ exp(−π²κt/4a²), which bounds the difference from above after any time.

    Parameters
    ----------
    difference : between the middle plane and the face at first, °C
    left : the difference that counts as even, °C
    thickness, glass, faces : see `steady_difference`

    Returns
    -------
    s; 0 where the slab is as even from the first.

    Source: Carslaw and Jaeger (memory).

    Examples
    --------
    >>> round(evening_time(30.0, 1.0, 0.025, Glass()) / 60)
    34
    """
    if not left > 0:
        raise ValueError(f"A slab is never quite even: {left} °C is not above 0.")
    if difference <= left:
        return 0.0
    slowest = 4 * diffusion_time(thickness, glass, faces) / pi**2
    return slowest * log(32 / pi**3 * difference / left)


@dataclass(frozen=True, eq=False)
class SlabTemperatures:
    """Temperatures through a slab over time.

    Attributes
    ----------
    times : s, n values
    depths : m from the middle plane, `CELLS` + 1 values, the last one at the face
    temperatures : °C, n rows, one column for each depth
    """

    times: Floats
    depths: Floats
    temperatures: Floats

    @property
    def difference(self) -> Floats:
        """Middle plane minus face at each time, °C: positive on cooling."""
        return self.temperatures[:, 0] - self.temperatures[:, -1]

    @property
    def mean(self) -> Floats:
        """The mean through the thickness at each time, °C."""
        return self.temperatures @ thickness_weights(self.depths.size)


def thickness_weights(count: int) -> Floats:
    """Weights of the trapezoid rule through the thickness for `count` planes; they add up to 1."""
    weights = np.full(count, 1.0 / (count - 1))
    weights[[0, -1]] /= 2
    return weights


def slab_temperatures(
    times: ArrayLike,
    temperatures: ArrayLike,
    thickness: float,
    glass: Glass,
    faces: int = 1,
    *,
    surface_coefficient: float | None = None,
    cells: int = CELLS,
) -> SlabTemperatures:
    """Conduction through a slab that begins at one temperature throughout.

    Finite volumes, stepped implicitly from each time to the next, so that the steps may be as long
    as one likes; for accuracy they stay below a fifth of `diffusion_time` where the rate changes.

    Parameters
    ----------
    times : s, one-dimensional, never falling; where one is repeated, the kiln's temperature jumps
    temperatures : of the kiln, °C, joined by straight lines
    thickness : m
    glass : for its diffusivity, and its conductivity where a surface coefficient is given
    faces : 1 or 2 faces that follow the kiln
    surface_coefficient : W/(m²·K) between kiln and face; None where the face is at the kiln's
        temperature
    cells : layers to divide the path into

    Returns
    -------
    SlabTemperatures at the given times.

    Raises
    ------
    ValueError
        When the series do not fit each other, time runs backwards, a value is not finite, or the
        slab is no slab.

    Examples
    --------
    >>> slab = slab_temperatures(range(0, 7201, 60), [500 - 15 * m / 60 for m in range(121)],
    ...                          0.025, Glass())
    >>> round(float(slab.difference[-1]), 1)
    3.1
    """
    seconds, kiln = checked_series(times, temperatures)
    path = conduction_path(thickness, faces)
    if surface_coefficient is not None and not (
        surface_coefficient > 0 and isfinite(surface_coefficient)
    ):
        raise ValueError(f"A surface coefficient is above 0: {surface_coefficient} W/(m²·K).")
    width = path / cells
    # Each plane's lag is its temperature minus the kiln's: M du/dt = −K u − M dT/dt.
    exchange = glass.diffusivity / width
    mass = np.full(cells + 1, width)
    mass[[0, -1]] /= 2
    stiffness = np.full(cells + 1, 2 * exchange)
    stiffness[0] = exchange
    if surface_coefficient is None:
        mass, stiffness = mass[:-1], stiffness[:-1]
    else:
        to_kiln = surface_coefficient / (glass.density * glass.heat_capacity)
        stiffness[-1] = exchange + to_kiln
    lag = np.zeros((seconds.size, cells + 1))
    _step_lags(lag[:, : mass.size], np.diff(seconds), np.diff(kiln), mass, stiffness, exchange)
    depths = np.linspace(0.0, path, cells + 1)
    return SlabTemperatures(seconds, depths, kiln[:, None] + lag)


def _step_lags(
    lags: Floats, steps: Floats, rises: Floats, mass: Floats, stiffness: Floats, exchange: float
) -> None:
    """Fills the rows of `lags` after the first, each from the row before it."""
    beside = np.full(mass.size - 1, -exchange)
    conduction = np.diag(stiffness) + np.diag(beside, 1) + np.diag(beside, -1)
    lag = lags[0].copy()
    rows = zip(steps.tolist(), rises.tolist(), strict=True)
    for row, (step, rise) in enumerate(rows, 1):
        if step > 0:
            reach = _GAMMA * step
            diagonal, off = mass + reach * stiffness, reach * beside
            right = conduction @ lag
            right += mass * (rise / step)
            np.negative(right, out=right)
            first = _solved(diagonal, off, right)
            # What the second stage adds, K·first, follows from the first stage's own equation.
            right -= (1 / _GAMMA - 1) * (right - mass * first)
            second = _solved(diagonal, off, right)
            lag = lag + (step - reach) * first + reach * second
        else:
            lag = lag - rise
        lags[row] = lag


def _solved(diagonal: Floats, off: Floats, right: Floats) -> Floats:
    """A symmetric tridiagonal system, positive definite by its build; straight to LAPACK, which is
    six times quicker than `scipy.linalg.solveh_banded` on so few unknowns."""
    _, _, solution, failed = dptsv(diagonal, off, right)
    if failed:
        raise ArithmeticError("The heat balance of a slab has no solution.")
    result: Floats = solution.reshape(-1)
    return result


def checked_series(times: ArrayLike, temperatures: ArrayLike) -> tuple[Floats, Floats]:
    """Times and temperatures as arrays, if they are a series without gaps.

    Raises
    ------
    ValueError
        When they differ in length or are empty, time runs backwards, or a value is not finite.
    """
    seconds = np.asarray(times, dtype=np.float64)
    celsius = np.asarray(temperatures, dtype=np.float64)
    if seconds.ndim != 1 or seconds.shape != celsius.shape or seconds.size == 0:
        raise ValueError(
            f"Times and temperatures are series of one length: {seconds.shape}, {celsius.shape}."
        )
    if not (np.all(np.isfinite(seconds)) and np.all(np.isfinite(celsius))):
        raise ValueError("Every plane's temperature needs a series without gaps.")
    if np.any(np.diff(seconds) < 0):
        raise ValueError("The times of a firing never run backwards.")
    return seconds, celsius
