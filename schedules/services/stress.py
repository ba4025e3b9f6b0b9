"""Stress in a slab of glass: made by its temperature, undone by its viscous flow.

The glass is a Maxwell body with the viscosity of `studio.services.glass`, elastic in volume. Each
plane is stretched to the slab's common width, so the tension of some is the compression of others;
the slab is held flat, as a sheet on a shelf is by its weight and a slab cooled from both faces by
its symmetry. Tension is positive. The larger expansion of the glass above its transformation range
and its slow settling there (structural relaxation) are left out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from schedules.services.conduction import SlabTemperatures, thickness_weights
from studio.services.glass import Glass, log10_viscosity

Floats = NDArray[np.float64]


def shear_modulus(glass: Glass) -> float:
    """E/(2(1 + ν)), Pa.

    Examples
    --------
    >>> round(shear_modulus(Glass()) / 1e9, 1)
    29.3
    """
    return glass.young / (2 * (1 + glass.poisson))


def biaxial_modulus(glass: Glass) -> float:
    """E/(1 − ν), Pa: stress for each unit of strain in a plane stretched both ways.

    Examples
    --------
    >>> round(biaxial_modulus(Glass()) / 1e9, 1)
    93.5
    """
    return glass.young / (1 - glass.poisson)


def maxwell_time(temperature: ArrayLike, glass: Glass) -> Floats:
    """η/G: seconds in which a shear stress falls to 1/e at `temperature` (°C, any shape).

    Examples
    --------
    >>> float(maxwell_time(548.0, Glass()).round(1))
    34.2
    """
    seconds: Floats = 10.0 ** np.asarray(log10_viscosity(temperature, glass)) / shear_modulus(glass)
    return seconds


def plane_relaxation_time(temperature: ArrayLike, glass: Glass) -> Floats:
    """Seconds in which the stress of a plane stretched both ways falls to 1/e, its width held.

    A Maxwell body that is elastic in volume relaxes so in 3(1 − ν)/(1 + ν) of `maxwell_time`
    (correspondence principle of linear viscoelasticity: G → G·sτ/(1 + sτ) in 18KG/(3K + 4G)).

    Examples
    --------
    >>> float(plane_relaxation_time(548.0, Glass()).round(1))
    64.2
    """
    factor = 3 * (1 - glass.poisson) / (1 + glass.poisson)
    seconds: Floats = factor * maxwell_time(temperature, glass)
    return seconds


def steady_tension(difference: float, glass: Glass) -> float:
    """The tension, Pa, of the middle plane while it lags the face by `difference` °C on heating,
    or that is left in it after it led by as much on cooling from where no stress was.

    E·α·ΔT/(3(1 − ν)), for the parabola of a steady rate; the face takes twice that, compressed.

    Examples
    --------
    >>> round(steady_tension(3.1, Glass()) / 1e6, 2)
    0.8
    """
    return biaxial_modulus(glass) * glass.expansion * difference / 3


@dataclass(frozen=True, eq=False)
class SlabStress:
    """Stress through a slab over time.

    Attributes
    ----------
    times : s, n values
    depths : m from the middle plane, the last one at the face
    stresses : Pa, tension positive, n rows, one column for each depth
    residual : Pa, one for each depth: what is left when all of the slab is at room temperature
    """

    times: Floats
    depths: Floats
    stresses: Floats
    residual: Floats

    @property
    def tension(self) -> Floats:
        """The greatest tension anywhere in the slab at each time, Pa; never below 0."""
        greatest: Floats = np.maximum(self.stresses.max(axis=1), 0.0)
        return greatest

    @property
    def residual_tension(self) -> float:
        """The greatest tension left at room temperature, Pa; never below 0."""
        return max(float(self.residual.max()), 0.0)


def slab_stress(slab: SlabTemperatures, glass: Glass) -> SlabStress:
    """The stress of a slab whose temperatures are known, free of stress at first.

    From each time to the next the temperature runs straight, and Maxwell's equation is solved in
    closed form for it, however short the relaxation time; so the stress is exact but for the
    viscosity within a step, which is taken as exponential in time. The stresses of a row add up to
    nothing through the thickness, to rounding.

    Parameters
    ----------
    slab : with steps of some 3 °C or less in the annealing range
    glass : see `Glass`

    Returns
    -------
    SlabStress at the slab's times. What is left at room temperature counts as if nothing more
    relaxed after the last of them.

    Examples
    --------
    >>> from schedules.services.conduction import slab_temperatures
    >>> slab = slab_temperatures([0.0, 0.0], [20.0, 25.0], 0.006, Glass(), faces=2)
    >>> [round(float(s) / 1e6, 1) for s in slab_stress(slab, Glass()).stresses[-1, [0, -1]]]
    [0.1, -3.8]
    """
    weights = thickness_weights(slab.depths.size)
    rises = np.diff(slab.temperatures, axis=0)
    relaxed = np.diff(slab.times)[:, None] * _mean_of_exponential(
        1.0 / plane_relaxation_time(slab.temperatures, glass)
    )
    kept = np.exp(-relaxed)
    # (1 − e^−x)/x: the share left of a strain that grows steadily over the step.
    share = np.ones_like(relaxed)
    np.divide(-np.expm1(-relaxed), relaxed, out=share, where=relaxed > 0)
    made = -biaxial_modulus(glass) * glass.expansion * rises * share
    # A strain common to all planes restores the balance; here, what it adds for each unit missing.
    spread = share / (share @ weights)[:, None]
    stresses = np.zeros_like(slab.temperatures)
    stress = stresses[0].copy()
    for row in range(rises.shape[0]):
        stress *= kept[row]
        stress += made[row]
        stress -= (weights @ stress) * spread[row]
        stresses[row + 1] = stress
    last = slab.temperatures[-1]
    evened = biaxial_modulus(glass) * glass.expansion * (last - weights @ last)
    return SlabStress(slab.times, slab.depths, stresses, stresses[-1] + evened)


def _mean_of_exponential(rates: Floats) -> Floats:
    """The mean along each step of what runs exponentially from row to row: (b − a)/ln(b/a)."""
    first, last = rates[:-1], rates[1:]
    difference, logarithm = last - first, np.log(last / first)
    mean = (first + last) / 2
    np.divide(difference, logarithm, out=mean, where=np.abs(logarithm) > 1e-4)
    return mean
