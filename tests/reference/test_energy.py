"""The energy of a body of one temperature, worked by hand from standard theory.

Lumped capacity: C dT/dt = P − G (T − room). With one time constant for heating and cooling,
C/G = 7200 s, and a limit of 1020 °C in a room of 20 °C, P = G · 1000 K. At P = 6 kW: G = 6 W/K and
C = 43.2 kJ/K = 12 Wh/K. All figures below are computed here from these.
"""

import math

import pytest

from firings.services.energy import WALLS, planned_energy, recorded_energy
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1020.0, 7200.0, 7200.0)


def test_heating_at_full_power():
    # From 20 to 520 °C: the gap to the limit halves in 7200 s · ln 2 = 4990.66 s; × 6 kW = 8.31777
    # kWh, of which 12 Wh/K · 500 K = 6 kWh are in the kiln and 2.31777 kWh were lost.
    curve = planned_curve([Segment(None, 520.0)], KILN)
    assert planned_energy(curve, 6.0).kwh == pytest.approx(8.31777, abs=1e-5)


def test_holding():
    # At 520 °C 6 W/K · 500 K = 3 kW: 3 kWh in an hour, and what walls take up on top.
    curve = planned_curve([Segment(None, 520.0, 3600.0)], KILN)
    assert planned_energy(curve, 6.0).kwh == pytest.approx(8.31777 + 3.0 * WALLS, abs=1e-5)


def test_a_straight_ramp():
    # 100 °C/h from 20 to 420 °C in 4 h: stored 12 Wh/K · 400 K = 4.8 kWh; lost 6 W/K · 200 K
    # (mean) · 4 h = 4.8 kWh; 9.6 kWh together. At the top it takes 1.2 + 2.4 kW, less than full.
    curve = planned_curve([Segment(100.0, 420.0)], KILN)
    assert planned_energy(curve, 6.0).kwh == pytest.approx(9.6 * WALLS, abs=1e-9)
    seen = recorded_energy([0.0, 7200.0 / 6, 14400.0 / 6], [20.0, 53.333333, 86.666667], KILN, 6.0)
    # 40 min of the same: 12 Wh/K · 66.667 K = 0.8 kWh stored; 6 W/K · 33.333 K · 2/3 h = 0.13333.
    assert seen.kwh == pytest.approx(0.933333 * WALLS, abs=1e-5)


def test_cooling_under_control():
    # 100 °C/h down from 520 to 420 °C in 1 h: lost 6 W/K · 450 K = 2.7 kWh, 1.2 of them from what
    # was stored: 1.5 kWh. Switched off, from 420 to 220 °C, nothing.
    curve = planned_curve([Segment(100.0, 420.0), Segment(None, 220.0)], KILN, start=520.0)
    assert curve.duration == pytest.approx(3600.0 + 7200.0 * math.log(2.0))
    assert planned_energy(curve, 6.0).kwh == pytest.approx(1.5 * WALLS, abs=1e-9)


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
