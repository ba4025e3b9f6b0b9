"""The closed-form curve against step-by-step integration (scipy.integrate.solve_ivp)."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

AGREEMENT = 0.01
"""°C."""
HOUR = 3600.0


def random_kiln(random):
    cooling = random.uniform(5000.0, 30000.0)
    return KilnResponse(
        random.uniform(870.0, 1300.0),
        random.uniform(2000.0, 12000.0),
        cooling,
        random.uniform(5.0, 35.0),
        slow_cooling_time_constant=random.choice([None, cooling * random.uniform(1.0, 3.0)]),
        slow_cooling_below=random.uniform(150.0, 600.0),
    )


def random_schedule(random, full_power):
    """Eight segments: rates from creeping to beyond the kiln, a third of them full power."""
    return [
        Segment(
            None if full_power and random.random() < 1 / 3 else random.uniform(30.0, 900.0),
            random.uniform(80.0, 850.0),
            random.choice([0.0, random.uniform(60.0, 7200.0)]),
        )
        for _ in range(8)
    ]


# Written anew, so that the curve and its check do not share a mistake.
def fall(response, temperature):
    """°C/s, positive, switched off."""
    constant = response.cooling_time_constant
    slow = response.slow_cooling_time_constant
    if slow is not None and temperature <= response.slow_cooling_below:
        constant = slow
    return (temperature - response.ambient) / constant


def rise(response, temperature):
    """°C/s at full power."""
    return (response.full_power_limit - temperature) / response.heating_time_constant


def integrate(slope, start, until, **options):
    solution = solve_ivp(
        lambda t, state: [slope(t, state[0])], (0.0, until), [start], dense_output=True, **options
    )
    assert solution.success
    return solution


@pytest.mark.parametrize("seed", range(40))
def test_kiln_that_is_waited_for(seed):
    random = np.random.default_rng(seed)
    response = random_kiln(random)
    plan = random_schedule(random, full_power=True)
    curve = planned_curve(plan, response)
    now, temperature = 0.0, response.ambient
    for segment, span in zip(plan, curve.spans, strict=True):
        up = segment.target > temperature
        asked = np.inf if segment.rate is None else segment.rate / HOUR

        def slope(_, state, up=up, asked=asked):
            return min(asked, rise(response, state)) if up else -min(asked, fall(response, state))

        def arrived(_, state, target=segment.target):
            return state[0] - target

        arrived.terminal = True
        ramp = integrate(
            slope, temperature, 1e7, events=arrived, rtol=1e-9, atol=1e-7, max_step=3000.0
        )
        moments = np.linspace(0.0, ramp.t[-1], 60)
        difference = curve.at(now + moments) - ramp.sol(moments)[0]
        assert np.abs(difference).max() < AGREEMENT
        now += ramp.t[-1]
        assert span.hold_start == pytest.approx(now, abs=0.5)
        now, temperature = now + segment.hold, segment.target


@pytest.mark.parametrize("seed", range(20))
def test_kiln_that_chases_the_clock(seed):
    """A stiff controller that knows the setpoint's slope, within what the kiln can do."""
    random = np.random.default_rng(1000 + seed)
    response = random_kiln(random)
    plan = random_schedule(random, full_power=False)
    curve = planned_curve(plan, response, waits=False)
    gain = 50.0  # 1/s: near the setpoint the stiff controller eases off, within 0.01 °C of it
    now, temperature, setpoint = 0.0, response.ambient, response.ambient
    for segment in plan:
        distance = segment.target - setpoint
        ramp = (np.sign(distance) * segment.rate / HOUR, abs(distance) / segment.rate * HOUR)
        for change, lasts in (ramp, (0.0, segment.hold)):
            if not lasts:
                continue

            def slope(t, state, change=change, begin=setpoint):
                wanted = change + gain * (begin + change * t - state)
                return min(max(wanted, -fall(response, state)), rise(response, state))

            chase = integrate(
                slope, temperature, lasts, method="BDF", rtol=1e-9, atol=1e-7, max_step=300.0
            )
            moments = np.linspace(0.0, lasts, 60)
            difference = curve.at(now + moments) - chase.sol(moments)[0]
            assert np.abs(difference).max() < AGREEMENT
            now, temperature, setpoint = now + lasts, chase.y[0, -1], setpoint + change * lasts
        setpoint = segment.target
