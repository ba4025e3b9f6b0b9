"""How long the energy of a firing takes: `python -m tests.benchmarks.energy`.

Ends with 1 where a figure misses its limit.
"""

import sys

import numpy as np

from firings.services.energy import LEAST_SHARE, MODEL_ERROR, planned_energy, recorded_energy
from firings.services.walls import needed_share, walls_of
from schedules.services.curve import Curve, planned_curve
from studio.services.kiln_response import KilnResponse
from tests.benchmarks.curve import PLAN, best

KILN = KilnResponse(
    1000.0,
    9000.0,
    12000.0,
    slow_cooling_time_constant=24000.0,
    covariance=np.diag([20.0, 60.0, 500.0, 900.0]) ** 2,
)
RATED = 7.0
LONGEST_PLAN, LONGEST_RECORDING = 5e-3, 80e-3
"""s, best of the rounds: of a plan of eight segments, and of a reading a second until cold."""
APART = 1e-4
"""Share by which it may differ from summing the power over fine steps of time."""


def step_by_step(curve: Curve) -> float:
    """kWh of the plan, by sums over ten seconds."""
    edges = [piece.start for piece in curve.pieces] + [curve.duration]
    times = np.unique(np.concatenate((np.arange(0.0, curve.duration, 10.0), edges)))
    middles = (times[1:] + times[:-1]) / 2
    walls = walls_of(KILN, MODEL_ERROR)
    course = curve.at(times)
    shares = np.clip(needed_share(times, course, walls, KILN.ambient), 0.0, 1.0)
    shares[(shares < LEAST_SHARE) & (np.diff(course) < 0)] = 0.0
    for piece in curve.pieces:
        if piece.constant:
            inside = (middles >= piece.start) & (middles < piece.end)
            shares[inside] = float(piece.asymptote > piece.first)
    return float(RATED * (shares @ np.diff(times)) / 3600.0)


def main() -> int:
    curve = planned_curve(PLAN, KILN)
    times = np.arange(0.0, curve.cool_to(60.5), 1.0)
    temperatures = curve.at(times)
    plan = best(lambda: planned_energy(curve, RATED))
    recording = best(lambda: recorded_energy(times, temperatures, KILN, RATED))
    apart = abs(planned_energy(curve, RATED).kwh / step_by_step(curve) - 1.0)
    print(f"plan, eight segments      {plan * 1e3:8.2f} ms   limit {LONGEST_PLAN * 1e3:.0f} ms")
    print(
        f"recording, {times.size:6d} readings {recording * 1e3:6.2f} ms   "
        f"limit {LONGEST_RECORDING * 1e3:.0f} ms"
    )
    print(f"apart from fine steps     {apart:8.1e}      limit {APART:.0e}")
    return int(plan > LONGEST_PLAN or recording > LONGEST_RECORDING or apart > APART)


if __name__ == "__main__":
    sys.exit(main())
