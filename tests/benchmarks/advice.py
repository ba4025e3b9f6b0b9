"""How long a piece of advice takes: `python -m tests.benchmarks.advice`.

Prints the best of 20 beside its limit, for 200 firings in one kiln and 500 in five, and a fixed
numpy loop as a yardstick of the machine.
"""

import sys
from collections.abc import Callable
from time import perf_counter

import numpy as np

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

LIMIT_MS = 50.0
REPEATS = 20

SEGMENTS = [
    Segment(150.0, 540.0, 600.0),
    Segment(100.0, 670.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    Segment(None, 510.0, 3600.0),
    Segment(80.0, 370.0, 0.0),
]


def history(firings: int, kilns: int) -> tuple[list[PastFiring], Situation]:
    """Firings whose verdicts follow a target 6 °C above the schedule, with a judge's noise."""
    situation = Situation(SEGMENTS, KilnResponse(1150.0, 7000.0, 11000.0), Glass(), 0)
    own = np.log(planned_curve(SEGMENTS, situation.response).heat_work(situation.glass))
    rng = np.random.default_rng(7)
    past = []
    for number in range(firings):
        ln_work = own + rng.normal(0.0, 0.3)
        judged = 4.0 * (ln_work - own - 0.2) + rng.normal(0.0, 0.4)
        verdict = int(np.clip(np.round(judged), -2, 2))
        uncertainty = float(rng.uniform(0.04, 0.3))
        past.append(
            PastFiring(
                number % kilns,
                float(np.exp(ln_work)),
                uncertainty,
                verdict,
                firing=number,
                service_epoch=number * 3 // firings,
            )
        )
    return past, situation


def best_ms(call: Callable[[], object]) -> float:
    times = []
    for _ in range(REPEATS):
        began = perf_counter()
        call()
        times.append(perf_counter() - began)
    return 1000 * min(times)


def yardstick() -> float:
    """A fixed piece of numpy work, so that figures of two machines can be set side by side."""
    values = np.linspace(0.0, 1.0, 100_000)
    return sum(float(np.exp(values * number).sum()) for number in range(10))


def main() -> int:
    print(f"yardstick (1e6 exponentials in numpy)   {best_ms(yardstick):6.1f} ms")
    slow = False
    for firings, kilns in ((0, 1), (200, 1), (500, 5)):
        past, situation = history(firings, kilns)
        took = best_ms(lambda p=past, s=situation: advise(p, s, StepLimits()))
        slow |= took > LIMIT_MS
        print(
            f"advise, {firings:3d} firings in {kilns} kiln(s)       {took:6.1f} ms"
            f"   limit {LIMIT_MS:.0f} ms"
        )
    return int(slow)


if __name__ == "__main__":
    sys.exit(main())
