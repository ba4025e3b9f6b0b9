"""Annealing: how fast a piece may cool, how long it soaks, and what stress it keeps.

A calculation for a flat slab of even thickness; the glass maker's own sheet wins.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from schedules.services.conduction import (
    checked_series,
    diffusion_time,
    slab_temperatures,
    steady_rate,
)
from schedules.services.stress import SlabStress, slab_stress
from studio.services.glass import Glass

Floats = NDArray[np.float64]

COOLING_DIFFERENCE = 3.1
"""°C from the face to the hottest plane while the annealing range is crossed. It leaves 0.8 MPa in
soda-lime glass. It is what a fusing glass maker's chart comes to, whose first cooling rates are
9420 °C·mm²/h over the thickness squared from 19 mm up, taken as cooled from one face."""

_STEP_OF_DIFFUSION = 0.2
"""The longest step of `stress_over`, of the diffusion time."""
_SHORTEST_BASE, _LONGEST_BASE = 120.0, 3600.0
"""s between which that step is kept: a thin slab follows the kiln anyhow, and no firing is so
long that it would need more."""
_STEP_OF_TEMPERATURE = 3.0
"""°C: the longest step of `stress_over`; the relaxation time is an e-fold longer 10 °C below."""

_AFTER_A_TURN = np.array([0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5])
"""Steps after a sharp turn of the kiln's temperature, of the diffusion time."""
_SHARP_TURN = 3.0
"""°C that a turn will come to make between face and middle, to count as sharp."""
_MOST_TURNS = 100


def cooling_rate_limit(
    thickness: float,
    glass: Glass,
    faces: int = 1,
    temperature_difference: float = COOLING_DIFFERENCE,
) -> float:
    """The fastest steady cooling that keeps a slab within a temperature difference.

    2κΔT/a², with a the thickness for one face and half of it for two: quasi-steady conduction,
    which is reached after twice `diffusion_time`. Below some 10 mm conduction is not what limits a
    piece, and this is faster than common practice goes.

    Parameters
    ----------
    thickness : m
    glass : for its diffusivity
    faces : 1 where the piece lies on a shelf that passes no heat (the cautious case), 2 where both
        faces cool alike
    temperature_difference : °C from the cold face to the hottest plane; by default
        `COOLING_DIFFERENCE`

    Returns
    -------
    °C/h, positive.

    Raises
    ------
    ValueError
        For a thickness or difference that is not positive, or other than one or two faces.

    Source: Carslaw and Jaeger, Conduction of Heat in Solids (memory), for the slab.

    Examples
    --------
    >>> round(cooling_rate_limit(0.025, Glass()), 1)
    15.0
    >>> round(cooling_rate_limit(0.025, Glass(), faces=2), 1)
    60.1
    """
    if not temperature_difference > 0:
        raise ValueError(f"A temperature difference is above 0: {temperature_difference} °C.")
    return steady_rate(temperature_difference, thickness, glass, faces)


@dataclass(frozen=True, eq=False)
class FiringStress:
    """What a firing does to a slab.

    Attributes
    ----------
    faces : temperature of the face, °C, at the times of `stress`
    differences : middle plane minus face, °C, at the same times: positive on cooling
    stress : see `SlabStress`
    """

    faces: Floats
    differences: Floats
    stress: SlabStress


def stress_over(
    times: ArrayLike,
    temperatures: ArrayLike,
    thickness: float,
    glass: Glass,
    faces: int = 1,
    *,
    fineness: float = 1.0,
) -> FiringStress:
    """Temperature difference and stress through a slab over a firing, planned or recorded.

    The slab is at the first temperature throughout, and free of stress, at first.

    Parameters
    ----------
    times : s, one-dimensional, never falling; a repeated time is a jump
    temperatures : of the glass's face, °C, joined by straight lines
    thickness : m
    glass : see `Glass`
    faces : 1 or 2 faces that follow the kiln; 1 is half a slab of twice the thickness, held flat
    fineness : how many times finer than usual the steps and layers are taken; at 1 the stress left
        is good to 1 % for whatever a kiln can do; dropping glass into water is not

    Returns
    -------
    FiringStress, at times of its own choice: at most some 3 °C apart, and closer than a fifth of
    the slab's diffusion time.

    Raises
    ------
    ValueError
        When the series do not fit each other, time runs backwards, a value is missing (a recording
        with a gap says nothing of the stress), or the slab is no slab.

    Examples
    --------
    >>> over = stress_over([0.0, 3600.0, 7200.0], [20.0, 170.0, 20.0], 0.012, Glass())
    >>> round(float(over.stress.tension.max()) / 1e6, 1)
    3.7
    """
    seconds, celsius = checked_series(times, temperatures)
    base = _STEP_OF_DIFFUSION * diffusion_time(thickness, glass, faces)
    base = float(np.clip(base, _SHORTEST_BASE, _LONGEST_BASE)) / fineness
    seconds, celsius = _thinned(seconds, celsius, base / 2)
    settles = diffusion_time(thickness, glass, faces)
    widest = _STEP_OF_TEMPERATURE / fineness
    seconds, celsius = _stepped(seconds, celsius, base, widest, settles)
    slab = slab_temperatures(seconds, celsius, thickness, glass, faces, cells=round(16 * fineness))
    return FiringStress(celsius, slab.difference, slab_stress(slab, glass))


def residual_stress(
    times: ArrayLike,
    temperatures: ArrayLike,
    thickness: float,
    glass: Glass,
    faces: int = 1,
) -> float:
    """The greatest tension left in a slab at room temperature after a firing.

    Parameters
    ----------
    times, temperatures, thickness, glass, faces : as for `stress_over`; the firing goes down to
        where the glass no longer flows

    Returns
    -------
    Pa, never below 0.

    Raises
    ------
    ValueError
        As `stress_over`; and where the firing ends above the strain point, for what is left is
        settled below it.

    Examples
    --------
    >>> hours = [0.0, 1.0, 3.0, 5.0, 12.0]
    >>> left = residual_stress([3600 * h for h in hours], [560.0, 548.0, 548.0, 518.0, 413.0],
    ...                        0.025, Glass())
    >>> round(left / 1e6, 2)
    0.8
    """
    _, celsius = checked_series(times, temperatures)
    if celsius[-1] > glass.strain_point:
        raise ValueError(
            f"This firing ends at {celsius[-1]:.0f} °C, above the strain point of "
            f"{glass.strain_point:.0f} °C: its stress is not settled yet."
        )
    return stress_over(times, temperatures, thickness, glass, faces).stress.residual_tension


def _thinned(seconds: Floats, celsius: Floats, width: float) -> tuple[Floats, Floats]:
    """The mean of each `width` seconds that readings fill, closer together than a quarter of that.

    A logger's noise is not the glass's face, which is too heavy to follow it. Readings that stand
    apart are kept as they are: between them the series runs straight.
    """
    if seconds.size < 4:
        return seconds, celsius
    apart = np.diff(seconds) > width / 4
    beside_a_gap = np.concatenate([[False], apart]) | np.concatenate([apart, [False]])
    slot = np.floor((seconds - seconds[0]) / width).astype(np.int64)
    first = np.flatnonzero(np.diff(slot, prepend=-1))
    count = np.diff(first, append=seconds.size)
    filled = ~np.logical_or.reduceat(beside_a_gap, first) & (count > 1)
    kept = ~np.repeat(filled, count)
    kept[[0, -1]] = True
    means = [(np.add.reduceat(each, first) / count)[filled] for each in (seconds, celsius)]
    thin_seconds = np.concatenate([seconds[kept], means[0]])
    order = np.argsort(thin_seconds, kind="stable")
    return thin_seconds[order], np.concatenate([celsius[kept], means[1]])[order]


def _stepped(
    seconds: Floats, celsius: Floats, longest: float, widest: float, settles: float
) -> tuple[Floats, Floats]:
    """Points along the series, at most `longest` s and `widest` °C apart, jumps included, and
    closer after the sharpest turns, which a slab of diffusion time `settles` s follows later."""
    progress = np.zeros(seconds.size)
    np.cumsum(np.diff(seconds) / longest + np.abs(np.diff(celsius)) / widest, out=progress[1:])
    points = np.linspace(0.0, progress[-1], int(np.ceil(progress[-1])) + 1)
    after = _sharpest_turns(seconds, celsius, settles)[:, None] + _AFTER_A_TURN * settles
    after = after[after < seconds[-1]]
    points = np.union1d(points, np.interp(after, seconds, progress))
    return np.interp(points, progress, seconds), np.interp(points, progress, celsius)


def _sharpest_turns(seconds: Floats, celsius: Floats, settles: float) -> Floats:
    """When the series jumps, or turns by as much as `_SHARP_TURN` of steady difference, in s."""
    steps, rises = np.diff(seconds), np.diff(celsius)
    rates = np.divide(rises, steps, out=np.zeros_like(rises), where=steps > 0)
    turns = np.zeros(seconds.size)
    turns[1:-1] = np.abs(np.diff(rates)) * settles / 2
    turns[1:] += np.where(steps > 0, 0.0, np.abs(rises))
    sharp = np.flatnonzero(turns > _SHARP_TURN)
    if sharp.size > _MOST_TURNS:
        sharp = sharp[np.argsort(turns[sharp])[-_MOST_TURNS:]]
    return np.sort(seconds[sharp])
