"""How long the stress of a firing takes: `python -m tests.benchmarks.annealing`.

Prints the best of 20 beside its limit, and how far the figure is from one on a grid eight times as
fine; and how long a check of the schedule takes, and a draft. Ends with 1 where one misses its
limit.
"""

import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from time import perf_counter

import numpy as np

from schedules.services.annealing import residual_stress, stress_over
from schedules.services.checks import KilnLimits, Load, check
from schedules.services.curve import Segment, planned_curve
from schedules.services.drafting import draft
from studio.services.glass import Glass
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse

LIMIT_MS = 60.0
CHECK_LIMIT_MS = 100.0
DRAFT_LIMIT_MS = 150.0
ACCURACY = 0.01
REPEATS = 20
THICKNESS = 0.025

PLAN = [
    Segment(120.0, 540.0, 600.0),
    Segment(100.0, 670.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    Segment(None, 548.0, 16200.0),
    Segment(38.0, 466.0),
    Segment(60.0, 410.0),
    Segment(120.0, 100.0),
]


def best_ms(call: Callable[[], object]) -> float:
    times = []
    for _ in range(REPEATS):
        began = perf_counter()
        call()
        times.append(perf_counter() - began)
    return 1000 * min(times)


def main() -> int:
    kiln = KilnResponse(1100.0, 7200.0, 9000.0)
    curve = planned_curve(PLAN, kiln)
    seconds = np.arange(0.0, curve.times[-1])
    noise = np.random.default_rng(1).normal(0.0, 0.3, seconds.size)
    series = {
        "planned": (curve.times, curve.temperatures),
        "recorded, 1 s": (seconds, np.round(curve.at(seconds) + noise, 1)),
    }
    hours = curve.times[-1] / SECONDS_PER_HOUR
    print(f"{hours:.1f} h, a slab of {1000 * THICKNESS:.0f} mm; best of {REPEATS}")
    failed = False
    for name, (times, temperatures) in series.items():
        for faces in (1, 2):
            glass = Glass()
            call = partial(residual_stress, times, temperatures, THICKNESS, glass, faces)
            took, left = best_ms(call), call()
            # Against the plan on the fine grid, for the recording is the plan with noise.
            fine = stress_over(
                curve.times, curve.temperatures, THICKNESS, glass, faces, fineness=8.0
            ).stress.residual_tension
            off = left / fine - 1
            failed |= took > LIMIT_MS or abs(off) > ACCURACY
            print(
                f"{name:14} {faces} faces {took:6.1f} ms  limit {LIMIT_MS:.0f}    "
                f"{left / 1e6:.3f} MPa, {100 * off:+.2f} % off the fine grid, "
                f"limit {100 * ACCURACY:.0f}"
            )
    for millimetres in (6.0, 25.0, 100.0):
        load = Load(thickest=millimetres / 1000.0, thinnest=millimetres / 1000.0)
        limits = KilnLimits(930.0, 12, response=kiln)
        took = best_ms(partial(check, PLAN, "full_fuse", load, limits))
        failed |= took > CHECK_LIMIT_MS
        print(f"check, {millimetres:4.0f} mm        {took:6.1f} ms  limit {CHECK_LIMIT_MS:.0f}")
        fine_steps = replace(limits, resolution=0.1)
        took = best_ms(partial(draft, "cast", load, fine_steps))
        failed |= took > DRAFT_LIMIT_MS
        print(f"draft, {millimetres:4.0f} mm        {took:6.1f} ms  limit {DRAFT_LIMIT_MS:.0f}")
    yard = best_ms(lambda: float(np.sum(np.exp(-np.linspace(0.0, 5.0, 10_000)))))
    print(f"numpy yardstick      {1000 * yard:6.0f} µs    10 000 exponentials, summed")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
