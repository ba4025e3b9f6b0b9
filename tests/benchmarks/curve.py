"""How long the curve of an eight-segment schedule takes: `python -m tests.benchmarks.curve`.

Ends with 1 where a figure misses its limit.
"""

import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp

from schedules.services.curve import Curve, Segment, planned_curve
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse

LONGEST = 150e-6
"""s for the curve and its samples, best of `ROUNDS`."""
LEAST_ADVANTAGE = 15.0
"""times faster than step-by-step integration."""
ROUNDS = 20

KILN = KilnResponse(1000.0, 9000.0, 12000.0, slow_cooling_time_constant=24000.0)
PLAN = [
    Segment(150.0, 540.0, 900.0),
    Segment(80.0, 670.0, 1800.0),
    Segment(None, 804.0, 600.0),
    Segment(None, 516.0, 3600.0),
    Segment(55.0, 427.0),
    Segment(99.0, 371.0),
    Segment(None, 200.0),
    Segment(300.0, 60.0),
]


def in_closed_form() -> Curve:
    curve = planned_curve(PLAN, KILN)
    assert curve.times.size == curve.temperatures.size
    return curve


def step_by_step() -> float:
    """The same firing by RK45 at rtol 1e-8, restarted at each piece; gives its duration in s."""
    now = 0.0
    for piece in in_closed_form().pieces:
        if piece.first == piece.last:
            now += piece.end - piece.start
            continue
        slope = (piece.last - piece.first) / (piece.end - piece.start)

        def rate(_, state, piece=piece, slope=slope):
            return (piece.asymptote - state) / piece.constant if piece.constant else [slope]

        def arrived(_, state, piece=piece):
            return state[0] - piece.last

        arrived.terminal = True
        far = 2 * (piece.end - piece.start)
        solution = solve_ivp(rate, (0.0, far), [piece.first], rtol=1e-8, events=arrived)
        now += solution.t[-1]
    return now


def yardstick() -> float:
    """A fixed piece of numpy work, by which two machines can be told apart."""
    return float(np.sum(np.exp(-np.linspace(0.0, 5.0, 10_000))))


def best(work: Callable[[], object]) -> float:
    """The shortest of `ROUNDS` runs, s."""
    shortest = np.inf
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        work()
        shortest = min(shortest, time.perf_counter() - begin)
    return shortest


def main() -> int:
    curve = in_closed_form()
    closed, stepped, machine = best(in_closed_form), best(step_by_step), best(yardstick)
    advantage = stepped / closed
    hours = curve.times[-1] / SECONDS_PER_HOUR
    apart = abs(step_by_step() - curve.times[-1])
    print(f"eight segments, {curve.times.size} samples, {hours:.1f} h; best of {ROUNDS}")
    print(f"curve, sampled   {closed * 1e6:8.0f} µs    limit {LONGEST * 1e6:.0f} µs")
    print(f"solve_ivp, RK45  {stepped * 1e6:8.0f} µs    the two end {apart:.2g} s apart")
    print(f"times faster     {advantage:8.0f}       at least {LEAST_ADVANTAGE:.0f}")
    print(f"numpy yardstick  {machine * 1e6:8.0f} µs    10 000 exponentials, summed")
    return int(closed > LONGEST or advantage < LEAST_ADVANTAGE)


if __name__ == "__main__":
    sys.exit(main())
