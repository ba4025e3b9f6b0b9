"""Many tuning runs by each rule, and what they come to."""

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from statistics import mean, stdev
from typing import Any, NamedTuple

import numpy as np

from firings.services.calibration import calibrate
from firings.services.evidence import PastFiring
from firings.services.weighing import KNOWN_KILN_DOUBT
from tests.simulation.tuning import (
    AS_BEGUN,
    Effect,
    Studio,
    Truth,
    World,
    firings_until_wanted,
    truths,
    tune,
)
from tests.simulation.tuning_carrying import carried_exactly, relabelled
from tests.simulation.tuning_rules import RULES, by_advice

FIRINGS = 15
"""Of a run."""
AFTER = 5
"""Firings after the first "as wanted" that are looked at."""
LATE = 9
"""From the tenth on."""
HISTORY = 10
"""Firings in another kiln before the first in this one."""
FARTHEST_KILN = 12.0
"""°C by which that kiln is off, at most."""
BINS = 10


@dataclass(frozen=True)
class Score:
    """What one rule came to.

    Attributes
    ----------
    first : mean firings until the first "as wanted"
    after, late : share "as wanted" of the five firings after it, and from the tenth firing on
    well_past : of them in a run
    doubt : standard error of `first`
    """

    first: float
    after: float
    late: float
    well_past: float
    doubt: float


@dataclass(frozen=True)
class Reliability:
    """Forecasts against what came, in ten bins of equally many.

    Attributes
    ----------
    said, came : mean forecast and share as wanted of each bin
    smallest : forecasts in the smallest bin
    skill : Brier's, against the base rate
    """

    said: tuple[float, ...]
    came: tuple[float, ...]
    smallest: int
    skill: float

    @property
    def farthest(self) -> float:
        return max(abs(s - c) for s, c in zip(self.said, self.came, strict=True))


class Carried(NamedTuple):
    """Firings until the first "as wanted" in a kiln, by what is known of another.

    `nothing`; ten firings there, its offset `unknown`; the same, its offset `measured` as well as
    tiles can; the same, its offset known `exactly`.
    """

    nothing: int
    unknown: int
    measured: int
    exactly: int


class Run(NamedTuple):
    """The verdicts of one run, and the chances of "as wanted" foretold from the second on."""

    verdicts: list[int]
    forecasts: list[float]


def run(rule: str, world: World, seed: int, numbers: Sequence[int]) -> list[Run]:
    """Some of the runs of a world, by one of the `RULES`."""
    hidden = truths(max(numbers) + 1, seed, world)
    effect = Effect(world.activation)
    runs = []
    for number in numbers:
        studio = Studio(hidden[number], world, number, effect=effect)
        tune(studio, RULES[rule], FIRINGS)
        runs.append(Run(studio.verdicts, studio.forecasts))
    return runs


def carry(world: World, seed: int, numbers: Sequence[int]) -> list[Carried]:
    """Runs that begin with the top and the history of another kiln, whose offset is hidden."""
    hidden = truths(max(numbers) + 1, seed, world)
    effect = Effect(world.activation)
    found = []
    for number in numbers:
        truth, rng = hidden[number], np.random.default_rng((seed, number))
        off = float(rng.uniform(-FARTHEST_KILN, FARTHEST_KILN))
        measured = off + float(rng.normal(0.0, KNOWN_KILN_DOUBT))
        there = Studio(replace(truth, offset=truth.offset + off), world, number, effect=effect)
        top = tune(there, by_advice, HISTORY)
        here = partial(_begun, truth, world, 10_000 + number, effect)
        found.append(
            Carried(
                here(AS_BEGUN, [], {}),
                here(top, relabelled(there.past, "B"), {}),
                here(top, relabelled(there.past, "B"), {"B": measured}),
                here(top, carried_exactly(there.past, off), {}),
            )
        )
    return found


def _begun(
    truth: Truth,
    world: World,
    seed: int,
    effect: Effect,
    begin: tuple[float, float],
    past: list[PastFiring],
    offsets: dict[str, float],
) -> int:
    studio = Studio(truth, world, seed, effect=effect)
    studio.past, studio.offsets = past, offsets
    tune(studio, by_advice, FIRINGS, begin=begin, ask_first=True, until_wanted=True)
    return firings_until_wanted(studio.verdicts)


def in_two(task: Callable[[Sequence[int]], list[Any]], count: int) -> list[Any]:
    """The same task on both halves of the runs, in two processes."""
    halves = [range(0, count, 2), range(1, count, 2)]
    with ProcessPoolExecutor(2) as pool:
        first, second = pool.map(task, halves)
    return first + second


def scored(runs: Sequence[Run]) -> Score:
    firsts = [firings_until_wanted(each.verdicts) for each in runs]
    pairs = [(each.verdicts, first) for each, first in zip(runs, firsts, strict=True)]
    after = [v == 0 for verdicts, first in pairs for v in verdicts[first : first + AFTER]]
    late = [v == 0 for verdicts, _ in pairs for v in verdicts[LATE:]]
    return Score(
        mean(firsts),
        mean(after),
        mean(late),
        mean(verdicts.count(2) for verdicts, _ in pairs),
        stdev(firsts) / len(firsts) ** 0.5,
    )


def reliability(runs: Sequence[Run]) -> Reliability:
    """Of all forecasts of these runs: every firing but the first was foretold."""
    said = np.array([chance for each in runs for chance in each.forecasts])
    came = np.array([verdict == 0 for each in runs for verdict in each.verdicts[1:]])
    bins = np.array_split(np.argsort(said, kind="stable"), BINS)
    found = calibrate(said, came)
    assert found is not None
    assert found.skill is not None
    return Reliability(
        tuple(float(said[each].mean()) for each in bins),
        tuple(float(came[each].mean()) for each in bins),
        min(each.size for each in bins),
        found.skill,
    )
