"""Kilns that do not follow the project's model, and the controllers that drive them.

Two masses: the chamber with its hot face, which the thermocouple feels, and the wall behind it.
Heat passes between them and out to the room by conduction and by radiation with T⁴. Nothing here
knows of time constants or of a limit, so what is learnt from such a kiln is learnt from outside.
All numbers are invented.
"""

from dataclasses import dataclass, replace
from math import exp

import numpy as np

STEP = 5.0
"""s of a step of the simulation, which is also the controller's cycle."""
ZERO = 273.15
HOUR = 3600.0


@dataclass(frozen=True)
class TwoMassKiln:
    """Heat capacities are counted in that of the chamber, so that a flow is in °C/s of it.

    Attributes
    ----------
    power : °C/s that the elements give
    wall : heat capacity of the wall over that of the chamber
    conducted, radiated : from chamber to wall, 1/s and 1/(s·K³)
    lost, shone : from wall to room, 1/s and 1/(s·K³)
    leak : from chamber to room, 1/s
    sensor_lag : s by which the thermocouple is late
    ambient : °C
    """

    power: float
    wall: float
    conducted: float
    radiated: float
    lost: float
    shone: float
    leak: float
    sensor_lag: float = 25.0
    ambient: float = 20.0

    def flows(self, chamber: float, wall: float) -> tuple[float, float]:
        """Heat from the chamber to the wall and room, and from the wall to the room, °C/s."""
        hot, middle, room = chamber + ZERO, wall + ZERO, self.ambient + ZERO
        inward = self.conducted * (hot - middle) + self.radiated * (hot**4 - middle**4)
        outward = self.lost * (middle - room) + self.shone * (middle**4 - room**4)
        return inward, outward

    def limit(self) -> float:
        """°C of the chamber at which full power holds it for good, by bisection."""
        low, high = self.ambient, 2500.0
        for _ in range(60):
            middle = (low + high) / 2
            if self.surplus_at_rest(middle) > 0:
                low = middle
            else:
                high = middle
        return low

    def surplus_at_rest(self, chamber: float) -> float:
        """°C/s left over at full power with the wall at rest behind a chamber of this heat."""
        low, high = self.ambient, chamber
        for _ in range(60):
            wall = (low + high) / 2
            inward, outward = self.flows(chamber, wall)
            if inward > outward:
                low = wall
            else:
                high = wall
        return self.power - self.flows(chamber, low)[0] - self.leak * (chamber - self.ambient)


def random_kiln(rng: np.random.Generator, limit: float | None = None) -> TwoMassKiln:
    """A kiln whose walls, losses and power are drawn at random; its limit lies at 1050–1300 °C."""
    wall = rng.uniform(0.8, 1.8)
    passed = rng.uniform(0.8, 2.0) / HOUR
    share = rng.uniform(0.3, 0.7)
    lost = (1 + wall) / (rng.uniform(3.5, 6.5) * HOUR)
    glow = rng.uniform(0.2, 0.5)
    kiln = TwoMassKiln(
        power=1.0,
        wall=wall,
        conducted=passed * (1 - share),
        radiated=passed * share / (4 * (700.0 + ZERO) ** 3),
        lost=lost * (1 - glow),
        shone=lost * glow / (4 * (400.0 + ZERO) ** 3),
        leak=rng.uniform(0.02, 0.08) / HOUR,
        sensor_lag=rng.uniform(10.0, 40.0),
        ambient=rng.uniform(16.0, 26.0),
    )
    limit = rng.uniform(1050.0, 1300.0) if limit is None else limit
    # Power to rest at the limit: what is missing there at a power of 1.
    return replace(kiln, power=1.0 - kiln.surplus_at_rest(limit))


@dataclass(frozen=True)
class Controller:
    """A proportional, integral and derivative controller whose setpoint may wait for the kiln.

    Attributes
    ----------
    band : °C below the setpoint at which the elements are wholly on
    integral_time, derivative_time : s
    guard : °C behind the setpoint at which it stops to wait; None lets it run by the clock
    arrived : °C within which a target counts as met and the hold begins, where it waits
    """

    band: float
    integral_time: float
    derivative_time: float
    guard: float | None = 10.0
    arrived: float = 2.0


def random_controller(rng: np.random.Generator, waits: bool = True) -> Controller:
    return Controller(
        band=rng.uniform(8.0, 20.0),
        integral_time=rng.uniform(150.0, 600.0),
        derivative_time=rng.uniform(10.0, 60.0),
        guard=rng.uniform(5.0, 15.0) if waits else None,
    )


class Plant:
    """A kiln under way, and what its thermocouple shows."""

    def __init__(self, kiln: TwoMassKiln, start: float | None = None) -> None:
        self.kiln = kiln
        self.chamber = self.wall = self.shown = kiln.ambient if start is None else start
        self._lag = 1 - exp(-STEP / kiln.sensor_lag)

    def step(self, share: float) -> None:
        """`STEP` seconds with the elements on for this share of the time."""
        kiln = self.kiln
        inward, outward = kiln.flows(self.chamber, self.wall)
        leak = kiln.leak * (self.chamber - kiln.ambient)
        self.chamber += STEP * (share * kiln.power - inward - leak)
        self.wall += STEP * (inward - outward) / kiln.wall
        self.shown += self._lag * (self.chamber - self.shown)


class Drive:
    """The controller at work: gives the share of full power that it asks for."""

    def __init__(self, controller: Controller, shown: float) -> None:
        self.controller = controller
        self.integral = 0.0
        self.before = shown
        self.slope = 0.0

    def share(self, setpoint: float, shown: float) -> float:
        controller = self.controller
        self.slope += 0.2 * ((shown - self.before) / STEP - self.slope)
        self.before = shown
        error = setpoint - shown
        asked = (error - controller.derivative_time * self.slope) / controller.band
        given = min(max(asked + self.integral, 0.0), 1.0)
        # The integral rests while the elements can do no more, or no less.
        if 0.0 < given < 1.0 or (given == 1.0) != (error > 0):
            self.integral += STEP * error / controller.band / controller.integral_time
            self.integral = min(max(self.integral, 0.0), 1.0)
        return given
