"""What a test series of four tells: `python -m tests.benchmarks.series_runs [runs]`, else 400 runs.

A series, four firings by the advice one after another, and four of the schedule as it stands: how
far off the wanted peak is then thought to be, and how soon it comes out as wanted. Beside each
figure that must hold its limit. Firings one by one tell more for their number, as each is moved by
the verdict before; what a series saves are sittings. Takes some fifteen minutes on two cores.
"""

import sys
from dataclasses import dataclass
from functools import partial
from math import sqrt
from statistics import mean, median

import numpy as np

from firings.services.verdict_model import SITTING_SHARE
from firings.services.weighing import PLACE_DOUBT
from tests.benchmarks.advice_runs import told
from tests.simulation.ladders import WAYS, Learnt, ladder
from tests.simulation.tuning import World
from tests.simulation.tuning_scores import in_two

SEED = 11

WORLDS = {
    "every piece at the place by which the shelf is judged": (World(), SITTING_SHARE),
    "ordinary pieces where there is room": (World(places=PLACE_DOUBT), SITTING_SHARE),
    "a judge's noise all of the single piece": (World(), 0.0),
    "a judge's noise nearly all of the sitting": (World(), 0.9),
}
"""Each with the share of a judge's variance that belongs to the sitting."""
TRUE_TO_ITS_DOUBT = 1.2
"""By which an error may exceed the doubt that is told, root mean square."""


@dataclass(frozen=True)
class LadderScore:
    """Of many runs, as `Learnt`; °C and firings.

    `against_doubt` is the root mean square of the error over the doubt told.
    """

    middle: float
    ninetieth: float
    against_doubt: float
    after: float
    first: float
    sittings: float


def scored(runs: list[Learnt]) -> LadderScore:
    errors = np.array([abs(each.off) for each in runs])
    return LadderScore(
        median(errors.tolist()),
        float(np.quantile(errors, 0.9)),
        sqrt(mean((each.off / each.doubt) ** 2 for each in runs)),
        mean(each.after for each in runs),
        mean(each.first for each in runs),
        mean(each.sittings for each in runs),
    )


def main() -> int:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    good = []
    for name, (world, share) in WORLDS.items():
        print(f"\n{name}, {runs} runs")
        print("                error °C    nine   of its   as wanted after   the four   sittings")
        print("                  median  in ten    doubt          the four    counted   to judge")
        scores = {}
        for way in WAYS:
            found = in_two(partial(ladder, way, world, share, SEED), runs)
            scores[way] = one = scored(found)
            print(
                f"  {way:13s}{one.middle:9.2f}{one.ninetieth:8.2f}{one.against_doubt:9.2f}"
                f"{one.after:18.2f}{one.first:11.2f}{one.sittings:11.2f}",
                flush=True,
            )
        series, alike = scores["series"], scores["as it stands"]
        good += [
            told("error over doubt told", series.against_doubt, TRUE_TO_ITS_DOUBT, most=True),
            told(
                "nine in ten ÷ those of four as it stands",
                series.ninetieth / alike.ninetieth,
                1.0,
                most=True,
            ),
            told(
                "sittings to as wanted ÷ those one by one",
                series.sittings / scores["one by one"].sittings,
                1.0,
                most=True,
            ),
        ]
    return int(not all(good))


if __name__ == "__main__":
    sys.exit(main())
