"""How fast a kiln can follow: at full power, and switched off."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf, isfinite, log
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

SECONDS_PER_HOUR = 3600.0
REACH = 1.0
"""°C: a target closer than this to the kiln's limit or to its room counts as out of reach."""


@dataclass(frozen=True)
class KilnResponse:
    """A kiln as a body of one temperature, heated by its elements and cooled by its room.

    At full power dT/dt = (full_power_limit − T) / heating_time_constant. Switched off,
    dT/dt = −(T − ambient) / constant, with the slow constant at and below `slow_cooling_below`:
    there the walls give back the heat that they took up.

    Parameters
    ----------
    full_power_limit : °C towards which the kiln tends at full power
    heating_time_constant : s
    cooling_time_constant : s
    ambient : °C of the room
    slow_cooling_time_constant : s, not below `cooling_time_constant`; None for a single constant
    slow_cooling_below : °C at which the slow constant takes over
    covariance : 4 × 4, of the `PARAMETERS` of `response_parameters` where they were learnt, or
        None; not part of equality

    Raises
    ------
    ValueError
        For a limit not above the room, a constant that is not positive, or a slow constant that is
        faster than the other.

    Examples
    --------
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0)
    >>> kiln.rise_at(700.0)
    200.0
    >>> kiln.fall_at(800.0)
    260.0
    """

    full_power_limit: float
    heating_time_constant: float
    cooling_time_constant: float
    ambient: float = 20.0
    slow_cooling_time_constant: float | None = field(default=None, kw_only=True)
    slow_cooling_below: float = field(default=370.0, kw_only=True)
    covariance: Floats | None = field(default=None, kw_only=True, compare=False, repr=False)

    def __post_init__(self) -> None:
        if not (isfinite(self.ambient) and self.ambient < self.full_power_limit < inf):
            raise ValueError(
                "A kiln's limit at full power lies above its room's temperature: "
                f"{self.full_power_limit} and {self.ambient} °C."
            )
        for name in ("heating_time_constant", "cooling_time_constant"):
            if not 0 < getattr(self, name) < inf:
                raise ValueError(f"A kiln's {name} is positive: {getattr(self, name)} s.")
        slow = self.slow_cooling_time_constant
        if slow is not None:
            if not self.cooling_time_constant <= slow < inf:
                raise ValueError(
                    "The slow cooling constant is not faster than the other: "
                    f"{slow} and {self.cooling_time_constant} s."
                )
            if not self.ambient < self.slow_cooling_below < inf:
                raise ValueError(
                    f"Slow cooling begins above the room: {self.slow_cooling_below} °C."
                )

    def reaches(self, temperature: float) -> bool:
        """Whether a target (°C) lies far enough from the kiln's limit and from its room."""
        return self.ambient + REACH < temperature < self.full_power_limit - REACH

    def cooling_bands(self, start: float, end: float) -> Iterator[tuple[float, float]]:
        """The stretches of one time constant each on the way down from `start` to `end` (°C).

        Yields the temperature at which each stretch ends and its time constant in s.
        """
        slow, split = self.slow_cooling_time_constant, self.slow_cooling_below
        if slow is None or end >= split:
            yield end, self.cooling_time_constant
            return
        if start > split:
            yield split, self.cooling_time_constant
        yield end, slow

    @overload
    def rise_at(self, temperature: float) -> float: ...
    @overload
    def rise_at(self, temperature: ArrayLike) -> Floats: ...
    def rise_at(self, temperature: ArrayLike) -> Floats | float:
        """How fast the kiln heats at full power, °C/h, at `temperature` (°C, any shape)."""
        celsius = np.asarray(temperature, dtype=np.float64)
        rise = (self.full_power_limit - celsius) / self.heating_time_constant * SECONDS_PER_HOUR
        return _like(temperature, rise)

    @overload
    def fall_at(self, temperature: float) -> float: ...
    @overload
    def fall_at(self, temperature: ArrayLike) -> Floats: ...
    def fall_at(self, temperature: ArrayLike) -> Floats | float:
        """How fast the kiln cools when switched off, °C/h, positive, at `temperature` (°C)."""
        celsius = np.asarray(temperature, dtype=np.float64)
        constant = np.full(celsius.shape, self.cooling_time_constant)
        if self.slow_cooling_time_constant is not None:
            constant[celsius <= self.slow_cooling_below] = self.slow_cooling_time_constant
        return _like(temperature, (celsius - self.ambient) / constant * SECONDS_PER_HOUR)

    @overload
    def heated(self, start: float, seconds: float) -> float: ...
    @overload
    def heated(self, start: float, seconds: ArrayLike) -> Floats: ...
    def heated(self, start: float, seconds: ArrayLike) -> Floats | float:
        """°C after `seconds` (any shape) at full power from `start` (°C).

        Examples
        --------
        >>> round(KilnResponse(200.0, 1.0, 1.0).heated(25.0, 5.165), 2)
        199.0
        """
        elapsed = np.asarray(seconds, dtype=np.float64)
        gap = (self.full_power_limit - start) * np.exp(-elapsed / self.heating_time_constant)
        return _like(seconds, self.full_power_limit - gap)

    @overload
    def cooled(self, start: float, seconds: float) -> float: ...
    @overload
    def cooled(self, start: float, seconds: ArrayLike) -> Floats: ...
    def cooled(self, start: float, seconds: ArrayLike) -> Floats | float:
        """°C after `seconds` (any shape) switched off, from `start` (°C).

        Examples
        --------
        >>> round(KilnResponse(1100.0, 7200.0, 7200.0).cooled(804.0, 3600.0), 3)
        495.52
        """
        elapsed = np.asarray(seconds, dtype=np.float64)
        excess = start - self.ambient
        slow, split = self.slow_cooling_time_constant, self.slow_cooling_below
        if slow is None:
            fallen = excess * np.exp(-elapsed / self.cooling_time_constant)
        elif start <= split:
            fallen = excess * np.exp(-elapsed / slow)
        else:
            turn = self.cooling_time_constant * log(excess / (split - self.ambient))
            fallen = np.where(
                elapsed < turn,
                excess * np.exp(-elapsed / self.cooling_time_constant),
                (split - self.ambient) * np.exp(-np.maximum(elapsed - turn, 0.0) / slow),
            )
        return _like(seconds, self.ambient + fallen)

    def heating_time(self, start: float, end: float) -> float:
        """Seconds at full power from `start` up to `end` (°C); infinite at or above the limit.

        Raises ValueError when `end` lies below `start`.
        """
        if end < start:
            raise ValueError(f"A kiln doesn't heat from {start} down to {end} °C.")
        if end >= self.full_power_limit:
            return inf
        return self.heating_time_constant * log(
            (self.full_power_limit - start) / (self.full_power_limit - end)
        )

    def cooling_time(self, start: float, end: float) -> float:
        """Seconds switched off from `start` down to `end` (°C); infinite at or below the room.

        Raises ValueError when `end` lies above `start`.
        """
        if end > start:
            raise ValueError(f"A kiln doesn't cool from {start} up to {end} °C.")
        if end <= self.ambient:
            return inf
        seconds, now = 0.0, start
        for floor, constant in self.cooling_bands(start, end):
            seconds += constant * log((now - self.ambient) / (floor - self.ambient))
            now = floor
        return seconds


def _like(given: ArrayLike, result: Floats) -> Floats | float:
    return float(result) if np.ndim(given) == 0 else result
