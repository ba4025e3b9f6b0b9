"""How well the advice tunes: `python -m tests.benchmarks.advice_runs [runs]`, 2,000 by default.

Prints the spread of what is hidden, what each rule comes to in the model's own world and in others,
whether forecasts come true, and what another kiln's history saves; beside each figure its limit.
Takes half an hour on two cores.
"""

import sys
from functools import partial
from statistics import mean, stdev
from time import perf_counter

from firings.services.weighing import KNOWN_KILN_DOUBT
from tests.simulation.tuning import World, truths
from tests.simulation.tuning_scores import (
    Reliability,
    Score,
    carry,
    in_two,
    reliability,
    run,
    scored,
)

SEED = 11

OWN = World()
OTHERS = {
    "effect of 420 kJ/mol": World(activation=420e3),
    "judges twice as noisy": World(noise_factor=2.0),
    "kilns drift 0.5 °C a firing": World(drift=0.5),
    "one verdict in fifty a slip": World(slips=0.02),
    "schedules half as far off again": World(target_spread=1.5 * OWN.target_spread),
    "peak and duration noted": World(recorded=(("peak_and_duration", 1.0),)),
}

COMPARED = ("oracle", "advice", "fixed 5 °C", "in proportion", "Robbins–Monro")

FIRST, AFTER, LATE, WELL_PAST = 1.15, 0.88, 0.95, 0.05
APART, APART_ELSEWHERE, SKILL, SAVED, LEAST_FORECASTS = 0.05, 0.10, 0.10, 0.5, 1000


def told(figure: str, value: float, limit: float, *, most: bool) -> bool:
    good = value <= limit if most else value >= limit
    mark = "" if good else "   MISSED"
    print(f"  {figure:46s}{value:8.3f}   {'at most' if most else 'at least'} {limit:.2f}{mark}")
    return good


def spread(world: World, runs: int) -> None:
    hidden = truths(runs, SEED, world)
    print("hidden (mean, standard deviation):")
    for name, unit in (
        ("target", "°C"),
        ("slope", "verdicts"),
        ("noise", "verdicts"),
        ("offset", "°C"),
    ):
        values = [getattr(truth, name) for truth in hidden]
        print(f"  {name:8s}{mean(values):9.2f} ± {stdev(values):.2f} {unit}")


def compared(world: World, runs: int) -> tuple[dict[str, Score], Reliability]:
    """The score of each rule, and how reliable the forecasts of what was advised were."""
    print(f"  {runs} runs{'':8s}first  ± error   after    late  well past")
    scores = {}
    for rule in COMPARED:
        found = in_two(partial(run, rule, world, SEED), runs)
        scores[rule] = score = scored(found)
        print(
            f"  {rule:15s}{score.first:6.3f}  {score.doubt:6.3f}  {score.after:6.3f}"
            f"  {score.late:6.3f}  {score.well_past:6.3f}",
            flush=True,
        )
        if rule == "advice":
            advised = reliability(found)
    return scores, advised


def held(scores: dict[str, Score]) -> bool:
    oracle, advice = scores["oracle"], scores["advice"]
    best = min(score.first for rule, score in scores.items() if rule not in ("oracle", "advice"))
    return all(
        [
            told(
                "firings to the first as wanted ÷ oracle's",
                advice.first / oracle.first,
                FIRST,
                most=True,
            ),
            told("the same ÷ the best rule's", advice.first / best, 1.0, most=True),
            told(
                "as wanted in the five after ÷ oracle's",
                advice.after / oracle.after,
                AFTER,
                most=False,
            ),
            told(
                "as wanted from the tenth on ÷ oracle's",
                advice.late / oracle.late,
                LATE,
                most=False,
            ),
            told(
                "well past a run − oracle's",
                advice.well_past - oracle.well_past,
                WELL_PAST,
                most=True,
            ),
        ]
    )


def table(name: str, found: Reliability) -> None:
    print(f"{name}: forecast → came, {found.smallest} forecasts in the smallest bin")
    pairs = zip(found.said, found.came, strict=True)
    print("  " + "  ".join(f"{said:.2f}→{came:.2f}" for said, came in pairs))


def main() -> int:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    began = perf_counter()
    spread(OWN, runs)
    print("\nthe model's own world")
    scores, advised = compared(OWN, runs)
    good = [held(scores), *own_forecasts(runs, advised), saved(runs // 2)]
    for name, world in OTHERS.items():
        print(f"\n{name}")
        scores, _ = compared(world, runs // 4)
        held(scores)
        found = reliability(in_two(partial(run, "advice or whim", world, SEED), runs // 4))
        table("  forecasts", found)
        good.append(told("farthest from what came", found.farthest, APART_ELSEWHERE, most=True))
    print(f"\n{perf_counter() - began:.0f} s")
    return int(not all(good))


def own_forecasts(runs: int, advised: Reliability) -> list[bool]:
    found = reliability(in_two(partial(run, "advice or whim", OWN, SEED), runs))
    table("\nforecasts, half of them of changes that nobody advised", found)
    good = [
        told("farthest from what came", found.farthest, APART, most=True),
        told("skill against the base rate", found.skill, SKILL, most=False),
        told("forecasts in a bin", found.smallest, LEAST_FORECASTS, most=False),
    ]
    table("forecasts of what was advised", advised)
    print(f"  {'skill against the base rate':46s}{advised.skill:8.3f}")
    return [*good, told("farthest from what came", advised.farthest, APART, most=True)]


def saved(runs: int) -> bool:
    print(f"\nanother kiln's history, {runs} runs: firings to the first as wanted")
    carried = in_two(partial(carry, OWN, SEED), runs)
    nothing, unknown, measured, exactly = (mean(each) for each in zip(*carried, strict=True))
    print(f"  nothing known {nothing:.3f}; its history, its offset unknown {unknown:.3f},")
    print(f"  measured to {KNOWN_KILN_DOUBT:.0f} °C {measured:.3f}, known exactly {exactly:.3f}")
    whole = nothing - exactly
    print(f"  {'saved of that, its offset unknown':46s}{(nothing - unknown) / whole:8.3f}")
    share = (nothing - measured) / whole
    return told("saved of that, its offset measured", share, SAVED, most=False)


if __name__ == "__main__":
    sys.exit(main())
