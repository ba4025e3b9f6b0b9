"""The energy of a kiln, against what is worked by hand and against step-by-step integration.

Full power, by hand: C dT/dt = P − G (T − room). With one time constant for heating and cooling,
C/G = 7200 s, and a limit of 1020 °C in a room of 20 °C, P = G · 1000 K. At P = 6 kW: G = 6 W/K and
C = 43.2 kJ/K = 12 Wh/K.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from firings.services.energy import WALLS, planned_energy, recorded_energy
from firings.services.walls import KELVIN, Walls, needed_share, wall_temperatures
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1020.0, 7200.0, 7200.0)
HEAVY = Walls(900.0, 1.4, 1.2, 0.5, 0.04, 0.05)
ROOM = 20.0
COURSE_S = 3600.0 * np.array([0.0, 3.0, 3.5, 5.0, 5.5, 6.5, 8.5, 10.0, 22.0])
COURSE_C = np.array([20.0, 560.0, 560.0, 805.0, 805.0, 515.0, 515.0, 380.0, 60.0])


def exchanged(chamber, wall):
    """°C/h from the chamber to the wall and from the wall to the room, written out anew: half of
    the first is radiation at 700 °C, three tenths of the second at 400 °C."""
    hot, middle, room = chamber + KELVIN, wall + KELVIN, ROOM + KELVIN
    inward = HEAVY.exchange * (0.5 * (hot - middle) + 0.5 * (hot**4 - middle**4) / (4 * 973.15**3))
    outward = HEAVY.loss * (0.7 * (middle - room) + 0.3 * (middle**4 - room**4) / (4 * 673.15**3))
    return inward, outward


def test_heating_at_full_power():
    # From 20 to 520 °C: the gap to the limit halves in 7200 s · ln 2 = 4990.66 s; × 6 kW = 8.31777
    # kWh, of which 12 Wh/K · 500 K = 6 kWh are in the kiln and 2.31777 kWh were lost.
    curve = planned_curve([Segment(None, 520.0)], KILN)
    assert planned_energy(curve, 6.0).kwh == pytest.approx(8.31777, abs=1e-5)


def test_switched_off():
    curve = planned_curve([Segment(None, 220.0)], KILN, start=520.0)
    assert curve.duration == pytest.approx(7200.0 * math.log(2.5))
    assert planned_energy(curve, 6.0).kwh == 0.0


def test_the_wall_follows_as_an_ordinary_solver_has_it():
    def warming(seconds, wall):
        inward, outward = exchanged(np.interp(seconds, COURSE_S, COURSE_C), wall)
        return (inward - outward) / HEAVY.capacity / 3600.0

    times = np.arange(0.0, COURSE_S[-1] + 1.0, 300.0)
    solved = solve_ivp(
        warming, (0.0, COURSE_S[-1]), [ROOM], t_eval=times, rtol=1e-9, atol=1e-9, max_step=60.0
    )
    course = np.interp(times, COURSE_S, COURSE_C)
    found = wall_temperatures(times, course, HEAVY, ROOM)
    # Conductances are those of a step's middle: a few hundredths of a degree.
    assert found == pytest.approx(solved.y[0], abs=0.2)


def test_no_heat_is_lost_or_made():
    # What is given = what chamber and wall gained + what left through the wall and the leak.
    times = np.arange(0.0, COURSE_S[-1] + 1.0, 60.0)
    course = np.interp(times, COURSE_S, COURSE_C)
    wall = wall_temperatures(times, course, HEAVY, ROOM)
    given = needed_share(times, course, HEAVY, ROOM) * HEAVY.power / 60.0
    left = exchanged(course, wall)[1] + HEAVY.leak * (course - ROOM)
    stored = course[-1] - course[0] + HEAVY.capacity * (wall[-1] - wall[0])
    lost = float(np.trapezoid(left, times)) / 3600.0
    assert given.sum() == pytest.approx(stored + lost, rel=2e-4)


def test_holding_for_days():
    # At rest what the wall takes up it loses; found here by a root, not by following it.
    at_rest = brentq(lambda wall: np.subtract(*exchanged(520.0, wall)), ROOM, 520.0)
    share = (exchanged(520.0, at_rest)[0] + HEAVY.leak * 500.0) / HEAVY.power
    times = np.arange(0.0, 90.0 * 3600.0, 300.0)
    seen = recorded_energy(times, np.full(times.size, 520.0), KILN, 6.0, walls=HEAVY)
    shorter = recorded_energy(times[:960], np.full(960, 520.0), KILN, 6.0, walls=HEAVY)
    hours = (times[-1] - times[959]) / 3600.0
    assert seen.kwh - shorter.kwh == pytest.approx(6.0 * share * hours, rel=1e-3)


def test_a_gap_at_both_ends_of_which_the_kiln_was_as_hot():
    # One hour from 520 to 520 °C, off and on at full power, in either order: 3600 s shared in two.
    # Off x s, then on: 1020 − (1020 − 20 − 500 e^(−x/7200)) e^(−(3600−x)/7200) = 520 gives
    # (1000 − 500 u) · e^(−1/2) / u = 500 with u = e^(−x/7200): u = 2 e^(−1/2) / (1 + e^(−1/2))
    # = 0.755081, x = 2022.69 s: 1577.31 s on, 2.62884 kWh. On first, then off, x s off:
    # (1000 − 500 v) u = 500 with u v = e^(−1/2): u = (1 + e^(−1/2)) / 2 = 0.803265,
    # x = 1577.31 s: 2022.69 s on, 3.37116 kWh.
    seen = recorded_energy([0.0, 3600.0], [520.0, 520.0], KILN, 6.0)
    assert seen.least == pytest.approx(2.62884, abs=1e-5)
    assert seen.most == pytest.approx(3.37116 * WALLS, abs=1e-4)
