"""The heat that a kiln's walls take up and give back, and the power that its course asks for.

Two masses: the chamber with its hot face, which the display shows, and the wall behind it. Heat
passes between them, and from the wall to the room, by conduction and by radiation with T⁴. The
wall's temperature follows from the display's alone, whatever the elements did meanwhile; with it
the chamber's balance tells what they must have given.

Source: heat balance of two lumped masses, standard theory; Stefan and Boltzmann's law.
"""

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import solve_banded

from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse
from studio.services.response_parameters import LEAST_RISE, RISE_TOLD_AT

Floats = NDArray[np.float64]

KELVIN = 273.15
RADIATED, RADIATED_AT = 0.5, 700.0
"""Share of the exchange within the kiln that is radiation where both sides have this many °C."""
SHONE, SHONE_AT = 0.3, 400.0
"""The same of what the wall loses to the room. (Both our own estimates.)"""
CAPACITY, EXCHANGE, LEAK = 1.3, 1.35, 0.045
"""Of a kiln of which nothing else is known, see `Walls` (our own estimates)."""
BEHIND = 0.6
"""Share of the chamber's excess over the room that the wall has in the middle of a heating."""
ROUNDS, CLOSE = 8, 0.2
"""Rounds in which the wall's temperatures are found at most, and °C by which two of them agree."""


@dataclass(frozen=True)
class Walls:
    """A kiln of two masses; heat is counted in what warms the chamber by a degree.

    Attributes
    ----------
    power : °C/h that the elements would give the chamber at full power, were nothing lost
    capacity : heat capacity of the wall over that of the chamber
    exchange : 1/h, from the chamber to the wall, at `RADIATED_AT`
    loss : 1/h, from the wall to the room, at `SHONE_AT`
    leak : 1/h, from the chamber straight to the room
    error : standard deviation of the ln of an energy that is computed with these

    Raises
    ------
    ValueError
        For a figure that is not positive and finite; an error may be 0.
    """

    power: float
    capacity: float
    exchange: float
    loss: float
    leak: float
    error: float

    def __post_init__(self) -> None:
        for name in ("power", "capacity", "exchange", "loss", "leak"):
            value = getattr(self, name)
            if not (isfinite(value) and value > 0):
                raise ValueError(f"A kiln's {name} is positive: {value}.")
        if not (isfinite(self.error) and self.error >= 0):
            raise ValueError(f"An error is not below 0: {self.error}.")

    def given(self, chamber: ArrayLike, wall: ArrayLike, ambient: float) -> Floats:
        """What the chamber gives to its wall and to the room, °C/h.

        Parameters
        ----------
        chamber, wall : °C, of one shape
        ambient : °C

        Examples
        --------
        >>> walls = Walls(900.0, 1.3, 1.35, 0.46, 0.045, 0.1)
        >>> round(float(walls.given(700.0, 700.0, 20.0)), 6)  # 0.045 × 680
        30.6
        """
        warm = np.asarray(chamber, dtype=np.float64)
        behind = np.asarray(wall, dtype=np.float64)
        passed = self.exchange * _weight(warm, behind, RADIATED, RADIATED_AT) * (warm - behind)
        return np.asarray(passed + self.leak * (warm - ambient), dtype=np.float64)


def walls_of(response: KilnResponse, error: float) -> Walls:
    """The walls of a kiln of which its response alone is known.

    The wall loses what lets the whole cool with the response's slow constant, and the power is what
    gives its rise at 700 °C with the wall on its way (`BEHIND`).

    Parameters
    ----------
    response : the kiln's
    error : standard deviation of the ln of an energy that is computed so

    Examples
    --------
    >>> kiln = KilnResponse(1150.0, 6000.0, 10000.0, slow_cooling_time_constant=18000.0)
    >>> walls = walls_of(kiln, 0.12)
    >>> round(walls.loss, 2), round(walls.power)
    (0.46, 604)
    """
    slow = response.slow_cooling_time_constant or response.cooling_time_constant
    loss = (1.0 + CAPACITY) * SECONDS_PER_HOUR / slow
    flat = Walls(1.0, CAPACITY, EXCHANGE, loss, LEAK, error)
    power = power_of_rise(response.rise_at(RISE_TOLD_AT), flat, response.ambient)
    return Walls(power, CAPACITY, EXCHANGE, loss, LEAK, error)


def power_of_rise(rise: float, walls: Walls, ambient: float) -> float:
    """The power, °C/h, that makes a kiln rise so at 700 °C; the walls' own is not read.

    Parameters
    ----------
    rise : °C/h at full power
    walls : its other figures
    ambient : °C
    """
    behind = ambient + BEHIND * (RISE_TOLD_AT - ambient)
    return max(rise, LEAST_RISE) + float(walls.given(RISE_TOLD_AT, behind, ambient))


def wall_temperatures(
    times: ArrayLike, temperatures: ArrayLike, walls: Walls, ambient: float
) -> Floats:
    """The wall behind a chamber that takes this course, straight between its points.

    Parameters
    ----------
    times : s, rising, shape (n,); at most some ten minutes apart
    temperatures : °C of the chamber, shape (n,)
    walls : of the kiln
    ambient : °C

    Returns
    -------
    °C, shape (n,); at the first moment the wall is as warm as the chamber

    Notes
    -----
    With the two conductances taken for the middle of a step, a step is solved exactly; they are
    found in rounds, as they hang on the wall's own temperature.

    Examples
    --------
    >>> walls = Walls(900.0, 1.3, 1.35, 0.46, 0.045, 0.1)
    >>> rest = wall_temperatures([0.0, 3600.0], [20.0, 20.0], walls, 20.0)
    >>> rest.round(6).tolist()
    [20.0, 20.0]
    """
    moments = np.asarray(times, dtype=np.float64)
    chamber = np.asarray(temperatures, dtype=np.float64)
    hours = np.diff(moments) / SECONDS_PER_HOUR
    middle, slope = (chamber[1:] + chamber[:-1]) / 2, np.diff(chamber) / hours
    wall = ambient + BEHIND * (chamber - ambient)
    wall[0] = chamber[0]
    for _ in range(ROUNDS):
        between = (wall[1:] + wall[:-1]) / 2
        inward = walls.exchange * _weight(middle, between, RADIATED, RADIATED_AT)
        room = np.full_like(between, ambient)
        outward = walls.loss * _weight(between, room, SHONE, SHONE_AT)
        both = inward + outward
        share = inward / both
        pace = both / walls.capacity
        lag = share * slope / pace
        kept = np.exp(-pace * hours)
        # Where the wall would settle at the step's two ends, were its course drawn on for ever.
        first = share * chamber[:-1] + (1 - share) * ambient - lag
        last = share * chamber[1:] + (1 - share) * ambient - lag
        added = last - first * kept
        before, wall = wall, _followed(float(chamber[0]), kept, added)
        if float(np.abs(wall - before).max()) < CLOSE:
            break
    return wall


def needed_share(times: ArrayLike, temperatures: ArrayLike, walls: Walls, ambient: float) -> Floats:
    """The share of full power that each step of a course takes; below 0 or above 1 it can't be.

    Parameters
    ----------
    times, temperatures, walls, ambient : as for `wall_temperatures`

    Returns
    -------
    shape (n − 1,)

    Examples
    --------
    >>> walls = Walls(900.0, 1.3, 1.35, 0.46, 0.045, 0.1)
    >>> needed_share([0.0, 60.0], [20.0, 35.0], walls, 20.0).round(2).tolist()
    [1.01]
    """
    moments = np.asarray(times, dtype=np.float64)
    chamber = np.asarray(temperatures, dtype=np.float64)
    wall = wall_temperatures(moments, chamber, walls, ambient)
    at_ends = walls.given(chamber, wall, ambient)
    in_middle = walls.given((chamber[1:] + chamber[:-1]) / 2, (wall[1:] + wall[:-1]) / 2, ambient)
    given = (at_ends[:-1] + 4 * in_middle + at_ends[1:]) / 6
    rate = np.diff(chamber) / np.diff(moments) * SECONDS_PER_HOUR
    return np.asarray((rate + given) / walls.power, dtype=np.float64)


def _weight(one: Floats, other: Floats, radiated: float, at: float) -> Floats:
    """Of a conductance between two °C, over that where both are `at`."""
    hot, cold = one + KELVIN, other + KELVIN
    shining = (hot**2 + cold**2) * (hot + cold) / (4 * (at + KELVIN) ** 3)
    return np.asarray(1 - radiated + radiated * shining, dtype=np.float64)


def _followed(first: float, kept: Floats, added: Floats) -> Floats:
    """x₀ = first, xₙ₊₁ = kept·xₙ + added: a matrix of two bands."""
    bands = np.ones((2, kept.size + 1))
    bands[1, :-1] = -kept
    given = np.concatenate(([first], added))
    return np.asarray(solve_banded((1, 0), bands, given, check_finite=False), dtype=np.float64)
