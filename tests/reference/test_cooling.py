"""Heating and cooling of a body of one temperature, against worked values."""

import pytest

from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse


def test_newton_s_law_of_cooling():
    # Computed: 20 + 784 exp(−1/2) °C one hour after 804 °C, in a room of 20 °C, constant two hours.
    kiln = KilnResponse(1100.0, 7200.0, 7200.0)
    assert kiln.cooled(804.0, 3600.0) == pytest.approx(495.520, abs=5e-4)
    curve = planned_curve([Segment(None, 300.0)], kiln, start=804.0)
    assert curve.at(3600.0) == pytest.approx(495.520, abs=5e-4)


def test_thermocouple_junction_in_hot_gas():
    # Incropera et al., Fundamentals of Heat and Mass Transfer, Example 5.1 (memory): a junction of
    # time constant 1 s at 25 °C, put into gas at 200 °C, comes to 199 °C after 5.165 s.
    gas = KilnResponse(200.0, 1.0, 1.0)
    assert gas.heating_time(25.0, 199.0) == pytest.approx(5.165, abs=5e-4)
    assert gas.heated(25.0, 5.165) == pytest.approx(199.0, abs=1e-3)
