"""A kiln under way: how it follows a setpoint, piece by piece, in closed form."""

from math import exp, inf, log
from typing import NamedTuple

from studio.services.kiln_response import REACH, KilnResponse

_TOGETHER = 1e-9
"""°C within which the kiln counts as on its setpoint."""


class Piece(NamedTuple):
    """A stretch of a curve: straight when `constant` is 0, or else an exponential.

    From (`start` s, `first` °C) to (`end` s, `last` °C); an exponential tends to `asymptote` (°C)
    with the time constant `constant` (s).
    """

    start: float
    end: float
    first: float
    last: float
    asymptote: float = 0.0
    constant: float = 0.0

    def time_at(self, temperature: float) -> float:
        """When this piece passes `temperature` (°C), which lies between its ends, in s."""
        if self.constant:
            gap = (self.asymptote - self.first) / (self.asymptote - temperature)
            return self.start + self.constant * log(gap)
        share = (temperature - self.first) / (self.last - self.first)
        return self.start + share * (self.end - self.start)


def free_cooling(start: float, first: float, response: KilnResponse) -> list[Piece]:
    pieces: list[Piece] = []
    ambient = response.ambient
    if first <= ambient + REACH:
        return pieces
    for floor, constant in response.cooling_bands(first, ambient + REACH):
        end = start + constant * log((first - ambient) / (floor - ambient))
        pieces.append(Piece(start, end, first, floor, ambient, constant))
        start, first = end, floor
    return pieces


class KilnRun:
    """A kiln under way: where it is, and the pieces behind it."""

    def __init__(self, start: float, response: KilnResponse) -> None:
        self.time = 0.0
        self.temperature = start
        self.response = response
        self.pieces: list[Piece] = []

    def line(self, seconds: float, temperature: float) -> None:
        if seconds > 0:
            end = self.time + seconds
            self.pieces.append(Piece(self.time, end, self.temperature, temperature))
            self.time = end
        self.temperature = temperature

    def bend(self, temperature: float, asymptote: float, constant: float) -> None:
        """At full power or switched off until `temperature`."""
        now = self.temperature
        end = self.time + constant * log((asymptote - now) / (asymptote - temperature))
        if end > self.time:
            self.pieces.append(Piece(self.time, end, now, temperature, asymptote, constant))
            self.time = end
        self.temperature = temperature

    def bend_for(self, seconds: float, asymptote: float, constant: float) -> None:
        """At full power or switched off for `seconds`."""
        if seconds > 0:
            now, end = self.temperature, self.time + seconds
            last = asymptote + (now - asymptote) * exp(-seconds / constant)
            self.pieces.append(Piece(self.time, end, now, last, asymptote, constant))
            self.time, self.temperature = end, last

    def go(self, target: float, rate: float) -> None:
        """To `target` at `rate` (°C/s, positive) or as fast as the kiln can, and wait for it."""
        response = self.response
        if target > self.temperature:
            limit, constant = response.full_power_limit, response.heating_time_constant
            knee = min(limit - rate * constant, target)
            if knee > self.temperature:
                self.line((knee - self.temperature) / rate, knee)
            if target > self.temperature:
                self.bend(target, limit, constant)
        elif target < self.temperature:
            for floor, constant in response.cooling_bands(self.temperature, target):
                knee = max(response.ambient + rate * constant, floor)
                if knee < self.temperature:
                    self.line((self.temperature - knee) / rate, knee)
                if floor < self.temperature:
                    self.bend(floor, response.ambient, constant)

    def chase(self, setpoint: float, slope: float, seconds: float) -> None:
        """Follow a setpoint that leaves `setpoint` by the clock, by `slope` (°C/s, signed)."""
        response = self.response
        begin, end = self.time, self.time + seconds
        limit, heating = response.full_power_limit, response.heating_time_constant
        ambient = response.ambient
        while self.time < end:
            now, left = self.temperature, end - self.time
            wanted = setpoint + slope * (self.time - begin)
            if abs(now - wanted) <= _TOGETHER:
                if slope > 0:
                    knee = limit - slope * heating
                    if now >= knee - _TOGETHER:
                        self.bend_for(left, limit, heating)
                        continue
                elif slope < 0:
                    floor, constant = next(response.cooling_bands(now, ambient))
                    knee = max(ambient - slope * constant, floor)
                    if now <= ambient - slope * constant + _TOGETHER:
                        self._switched_off(left)
                        continue
                else:
                    self.line(left, now)
                    continue
                follow = (knee - wanted) / slope
                if follow < left:
                    self.line(follow, knee)
                else:
                    self.line(left, setpoint + slope * seconds)
            elif now < wanted:
                crossing = _crossing(now, limit, heating, wanted, slope, left)
                self.bend_for(min(crossing, left), limit, heating)
                if crossing < left:
                    self.temperature = setpoint + slope * (self.time - begin)
            else:
                floor, constant = next(response.cooling_bands(now, ambient))
                split = (
                    constant * log((now - ambient) / (floor - ambient)) if floor > ambient else inf
                )
                crossing = _crossing(now, ambient, constant, wanted, slope, min(left, split))
                if crossing >= split and split < left:
                    self.bend(floor, ambient, constant)
                else:
                    self.bend_for(min(crossing, left), ambient, constant)
                    if crossing < left:
                        self.temperature = setpoint + slope * (self.time - begin)

    def _switched_off(self, seconds: float) -> None:
        end = self.time + seconds
        ambient = self.response.ambient
        while self.time < end:
            floor, constant = next(self.response.cooling_bands(self.temperature, ambient))
            if floor > ambient:
                split = constant * log((self.temperature - ambient) / (floor - ambient))
                if split < end - self.time:
                    self.bend(floor, ambient, constant)
                    continue
            self.bend_for(end - self.time, ambient, constant)


def _crossing(
    now: float, asymptote: float, constant: float, setpoint: float, slope: float, within: float
) -> float:
    """Seconds until an exponential from `now` meets a line; infinite where not `within`.

    The distance between them is concave, seen from the side on which the kiln is: Newton's steps
    from 0 rise to the first meeting and never pass it.
    """
    gap = asymptote - now
    if slope == 0:
        if (setpoint - now) * gap <= 0 or abs(setpoint - now) >= abs(gap):
            return inf
        return constant * log(gap / (asymptote - setpoint))
    side = 1.0 if now < setpoint else -1.0
    seconds = 0.0
    for _ in range(200):
        rest = gap * exp(-seconds / constant)
        ahead = side * (setpoint + slope * seconds - (asymptote - rest))
        closing = side * (rest / constant - slope)
        if ahead <= 0:
            return seconds
        if closing <= 0:
            return inf
        step = ahead / closing
        seconds += step
        if seconds > within:
            return inf
        if step < 1e-9 * max(1.0, seconds * 1e-3):
            return seconds
    return seconds
