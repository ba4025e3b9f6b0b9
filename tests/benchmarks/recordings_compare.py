"""How well and how fast recordings are held against their plans, and kilns learnt from them:
`python -m tests.benchmarks.recordings_compare`.

On simulated firings in kilns that do not follow the project's model. Each figure stands beside its
limit; ends with 1 where one is missed.
"""

import sys
import time
from collections.abc import Callable

import numpy as np

from firings.services.comparison import compare
from firings.services.recording import Recording
from schedules.services.curve import Segment, planned_curve
from tests.simulation.firings import READING_STEP, simulate
from tests.simulation.kilns import random_controller, random_kiln
from tests.simulation.scoring import PRIOR, found_in, learnt_from

FIRINGS = 100
KILNS = 100
FIRST_KILN = 1000
"""Seeds of the kilns that are learnt, away from those of the firings that are compared."""
ROUNDS = 20
LONGEST_MS = 60.0

EIGHT_SEGMENTS = [
    Segment(150.0, 540.0, 900.0),
    Segment(80.0, 670.0, 1800.0),
    Segment(None, 804.0, 600.0),
    Segment(None, 516.0, 3600.0),
    Segment(55.0, 427.0),
    Segment(99.0, 371.0),
    Segment(150.0, 200.0, 600.0),
    Segment(60.0, 80.0, 60.0),
]


def told(what: str, figure: float, limit: float, unit: str = "", *, least: bool = False) -> bool:
    """Print a figure beside its limit; whether it keeps to it."""
    kept = figure >= limit if least else figure <= limit
    bound = "at least" if least else "at most"
    print(f"{what:<56} {figure:8.3f} {unit:<4} {bound} {limit:g}{'' if kept else '   MISSED'}")
    return kept


def day_of_seconds() -> Recording:
    """86,400 readings of an eight-segment firing."""
    rng = np.random.default_rng(3)
    firing = simulate(
        random_kiln(rng), random_controller(rng), EIGHT_SEGMENTS, rng, reading_step=5.0, until=40.0
    )
    times = np.arange(86_400.0)
    shown = np.interp(times, firing.times, firing.temperatures) + rng.normal(0.0, 1.0, times.size)
    return Recording(times, shown)


def speed() -> bool:
    recording, plan = day_of_seconds(), planned_curve(EIGHT_SEGMENTS, PRIOR)
    shortest = {"processor time": np.inf, "elapsed": np.inf}
    clocks = {"processor time": time.process_time, "elapsed": time.perf_counter}
    for _ in range(ROUNDS):
        begins = {name: clock() for name, clock in clocks.items()}
        compare(plan, recording)
        for name, clock in clocks.items():
            shortest[name] = min(shortest[name], clock() - begins[name])
    what = "compare, 86 400 readings, 8 segments"
    # Others at work on the machine lengthen what elapses: the processor's own time is held to it.
    print(f"{what + ', elapsed':<56} {shortest['elapsed'] * 1000:8.3f} ms")
    return told(what + ", processor", shortest["processor time"] * 1000, LONGEST_MS, "ms")


def finding() -> bool:
    found = found_in(range(FIRINGS))
    print(
        f"{FIRINGS} firings: {len(found.sharp)} boundaries of 30 °C/h and more, "
        f"{len(found.blunt)} others, {len(found.holds)} holds"
    )
    three, six = 3 * READING_STEP, 6 * READING_STEP
    kept = [
        told("sharp boundaries within 3 readings", found.share("sharp", three), 0.97, least=True),
        told("sharp boundaries within 6 readings", found.share("sharp", six), 1.0, least=True),
        told("other boundaries within 6 readings", found.share("blunt", six), 1.0, least=True),
        told("peaks within 1 °C of the noise-free", found.share("peaks", 1.0), 1.0, least=True),
        told("achieved holds within 2 min", found.share("holds", 120.0), 0.97, least=True),
    ]
    print(f"{'worst peak':<56} {max(found.peaks):8.3f} °C")
    return all(kept)


def learning() -> bool:
    learnt = learnt_from(range(FIRST_KILN, FIRST_KILN + KILNS))
    print(f"{KILNS} kilns, each learnt from 5 recordings, predicting a sixth firing to 100 °C")
    kept = [
        told("duration, median miss", 100 * float(np.median(learnt.misses)), 3.0, "%"),
        told("duration, worst miss", 100 * max(learnt.misses), 6.0, "%"),
        told(
            f"cool enough to open inside its {100 * learnt.coverage:.0f} % range",
            float(np.mean(learnt.inside)),
            0.9,
            least=True,
        ),
    ]
    return all(kept)


def sections() -> list[Callable[[], bool]]:
    """Each prints its figures and says whether all keep to their limits."""
    return [speed, finding, learning]


def main() -> int:
    kept = [section() for section in sections()]
    return int(not all(kept))


if __name__ == "__main__":
    sys.exit(main())
