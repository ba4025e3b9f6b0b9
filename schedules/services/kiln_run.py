"""A kiln under way: how it follows a setpoint, piece by piece, in closed form."""

from math import exp, inf, log
from typing import NamedTuple

from studio.services.kiln_response import KilnResponse

_TOGETHER = 1e-9
"""°C within which the kiln counts as on its setpoint."""
_TIME_PRECISION = 1e-7
"""s: a step of Newton's below this ends the search for a crossing."""
_NEWTON_STEPS = 200
"""Far more than any crossing takes, even of two curves that only just touch."""


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


class Setpoint(NamedTuple):
    """What the controller asks for: `first` (°C) at `start` (s), moving by `slope` (°C/s)."""

    start: float
    first: float
    slope: float

    def at(self, moment: float) -> float:
        return self.first + self.slope * (moment - self.start)


class KilnRun:
    """A kiln under way: where it is, and the pieces behind it."""

    def __init__(self, temperature: float, response: KilnResponse, time: float = 0.0) -> None:
        self.time = time
        self.temperature = temperature
        self.response = response
        self.pieces: list[Piece] = []

    def go(self, target: float, rate: float) -> None:
        """To `target` at `rate` (°C/s, positive) or as fast as the kiln can, and wait for it."""
        response = self.response
        if target > self.temperature:
            limit, constant = response.full_power_limit, response.heating_time_constant
            knee = min(limit - rate * constant, target)
            if knee > self.temperature:
                self._line(self.time + (knee - self.temperature) / rate, knee)
            if target > self.temperature:
                self._bend_to(target, limit, constant)
        elif target < self.temperature:
            for floor, constant in response.cooling_bands(self.temperature, target):
                knee = max(response.ambient + rate * constant, floor)
                if knee < self.temperature:
                    self._line(self.time + (self.temperature - knee) / rate, knee)
                if floor < self.temperature:
                    self._bend_to(floor, response.ambient, constant)

    def hold(self, seconds: float) -> None:
        """Stay at this temperature."""
        self._line(self.time + seconds, self.temperature)

    def chase(self, first: float, slope: float, seconds: float) -> None:
        """For `seconds`, follow a setpoint that runs by the clock, from `first` by `slope`."""
        end = self.time + seconds
        setpoint = Setpoint(self.time, first, slope)
        while self.time < end:
            behind = setpoint.at(self.time) - self.temperature
            if abs(behind) <= _TOGETHER:
                self._keep_up(setpoint, end)
            elif behind > 0:
                self._heat(setpoint, end)
            else:
                self._cool(setpoint, end)

    def _keep_up(self, setpoint: Setpoint, end: float) -> None:
        """With the setpoint as long as the kiln can; once left behind, it is so until `end`."""
        response, slope = self.response, setpoint.slope
        if slope == 0:
            self._line(end, self.temperature)
            return
        if slope > 0:
            limit, constant = response.full_power_limit, response.heating_time_constant
            knee = halt = limit - slope * constant
        else:
            floor, constant = next(response.cooling_bands(self.temperature, response.ambient))
            knee = response.ambient - slope * constant
            halt = max(knee, floor)
        if (self.temperature - knee) * slope >= -_TOGETHER * abs(slope):
            if slope > 0:
                self._bend_until(end, limit, constant)
            else:
                self._switch_off(end)
            return
        moment = self.time + (halt - self.temperature) / slope
        if moment < end:
            self._line(moment, halt)
        else:
            self._line(end, setpoint.at(end))

    def _heat(self, setpoint: Setpoint, end: float) -> None:
        """At full power until the setpoint is met, or `end`."""
        limit, constant = self.response.full_power_limit, self.response.heating_time_constant
        met = self.time + _crossing(
            self.temperature, limit, constant, setpoint.at(self.time), setpoint.slope
        )
        self._bend_until(min(met, end), limit, constant)
        if met < end:
            self.temperature = setpoint.at(met)

    def _cool(self, setpoint: Setpoint, end: float) -> None:
        """Switched off until the setpoint is met, the time constant changes, or `end`."""
        ambient = self.response.ambient
        floor, constant = next(self.response.cooling_bands(self.temperature, ambient))
        met = self.time + _crossing(
            self.temperature, ambient, constant, setpoint.at(self.time), setpoint.slope
        )
        if self._time_of(floor, ambient, constant) < min(met, end):
            self._bend_to(floor, ambient, constant)
            return
        self._bend_until(min(met, end), ambient, constant)
        if met < end:
            self.temperature = setpoint.at(met)

    def _switch_off(self, end: float) -> None:
        ambient = self.response.ambient
        while self.time < end:
            floor, constant = next(self.response.cooling_bands(self.temperature, ambient))
            if self._time_of(floor, ambient, constant) < end:
                self._bend_to(floor, ambient, constant)
            else:
                self._bend_until(end, ambient, constant)

    def _time_of(self, temperature: float, asymptote: float, constant: float) -> float:
        """When an exponential from here passes `temperature`; never, at its asymptote."""
        if temperature == asymptote:
            return inf
        gap = (asymptote - self.temperature) / (asymptote - temperature)
        return self.time + constant * log(gap)

    def _line(self, end: float, temperature: float) -> None:
        self._add(Piece(self.time, end, self.temperature, temperature))

    def _bend_to(self, temperature: float, asymptote: float, constant: float) -> None:
        end = self._time_of(temperature, asymptote, constant)
        self._add(Piece(self.time, end, self.temperature, temperature, asymptote, constant))

    def _bend_until(self, end: float, asymptote: float, constant: float) -> None:
        gap = (self.temperature - asymptote) * exp((self.time - end) / constant)
        self._add(Piece(self.time, end, self.temperature, asymptote + gap, asymptote, constant))

    def _add(self, piece: Piece) -> None:
        if piece.end > piece.start:
            self.pieces.append(piece)
            self.time = piece.end
        self.temperature = piece.last


def _crossing(
    now: float, asymptote: float, constant: float, setpoint: float, slope: float
) -> float:
    """Seconds until an exponential from `now` meets a line from `setpoint`; infinite if never.

    The distance between them is concave, seen from the side on which the kiln is: Newton's steps
    from 0 rise to the first meeting and never pass it.
    """
    gap = asymptote - now
    if slope == 0:
        return constant * log(gap / (asymptote - setpoint))
    side = 1.0 if now < setpoint else -1.0
    seconds = 0.0
    for _ in range(_NEWTON_STEPS):
        rest = gap * exp(-seconds / constant)
        ahead = side * (setpoint + slope * seconds - (asymptote - rest))
        closing = side * (rest / constant - slope)
        if ahead <= 0:
            break
        if closing <= 0:
            return inf
        step = ahead / closing
        seconds += step
        if step < _TIME_PRECISION:
            break
    return seconds
