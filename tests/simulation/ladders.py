"""Test series against ordinary firings of equal number: what each leaves unknown, and what then."""

from collections.abc import Sequence
from typing import NamedTuple

from firings.services.decision import AS_WANTED
from firings.services.ladder import USUAL_RUNGS, suggest_peaks
from firings.services.weighing import weigh
from firings.services.what_if import foretold
from tests.simulation.tuning import (
    AS_BEGUN,
    DEGREE,
    LIMITS,
    Effect,
    Sitting,
    Studio,
    World,
    firings_until_wanted,
    terms_of,
    truths,
    tune,
)
from tests.simulation.tuning_rules import by_advice

AFTER = 12
"""Firings by the advice once the first ones were fired."""
WAYS = ("series", "one by one", "as it stands")


class Learnt(NamedTuple):
    """What the first four firings of a run came to.

    Attributes
    ----------
    off : of the peak that is thought to be wanted, against the true one, °C
    doubt : its standard deviation as the advice has it, °C
    after : firings after them to the first "as wanted"
    first : the same, those four counted too
    sittings : times that somebody judged until the first "as wanted", a series being judged once
    """

    off: float
    doubt: float
    after: int
    first: int
    sittings: int


def ladder(way: str, world: World, share: float, seed: int, numbers: Sequence[int]) -> list[Learnt]:
    """Some of the runs of a world; `share` of a judge's variance belongs to the sitting."""
    hidden = truths(max(numbers) + 1, seed, world)
    effect, found = Effect(world.activation), []
    for number in numbers:
        studio = Studio(hidden[number], world, number, effect=effect)
        if way == "series":
            top = _series(studio, share)
        elif way == "one by one":
            top = tune(studio, by_advice, USUAL_RUNGS)
        else:
            top = tune(studio, lambda terms, run: (0.0, 0.0), USUAL_RUNGS)
        found.append(_learnt(way, studio, top))
    return found


def _series(studio: Studio, share: float) -> tuple[float, float]:
    """Fires the ladder that is suggested, and gives the rung that is likeliest as wanted."""
    peak, hold = AS_BEGUN
    sitting = Sitting(float(studio.whims.normal()), share)
    rungs = suggest_peaks(weigh([], terms_of(peak, hold).situation), LIMITS).values
    for rung in rungs:
        studio.fire(rung, hold, sitting)
    history = weigh(studio.past, terms_of(peak, hold).situation)
    told = foretold(history, LIMITS, [(rung - peak, 0.0) for rung in rungs])
    return max(told, key=lambda each: each.chances[AS_WANTED]).peak, hold


def _learnt(way: str, studio: Studio, top: tuple[float, float]) -> Learnt:
    terms = terms_of(*top)
    beliefs = weigh(studio.past, terms.situation).beliefs
    wanted = terms.display.ln_heat_work(studio.truth.target - studio.offset, AS_BEGUN[1])
    fired = len(studio.past)
    tune(studio, by_advice, AFTER, begin=top, ask_first=True)
    after = firings_until_wanted(studio.verdicts[fired:])
    first = firings_until_wanted(studio.verdicts)
    sittings = first
    if way == "series":
        sittings = 1 if first <= fired else 1 + first - fired
    off = (beliefs.wanted - float(wanted)) / DEGREE
    return Learnt(off, beliefs.doubt / DEGREE, after, first, sittings)
