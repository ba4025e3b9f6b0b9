"""How pieces came out at each place on a shelf, so that a cold place appears.

Source: our own; the scale is that of the verdicts, and the test whether a mean differs from 0 by
more than twice its standard error is the usual one.
"""

import statistics
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from math import sqrt

LEAST_PIECES = 3
"""At one place, from which a place is told apart from chance."""
LEAST_APART = 0.4
"""Steps of verdict on average, below which a place is as good as the rest."""
ERRORS = 2.0
"""Standard errors that a place must lie apart."""
JUDGE_SPREAD = 0.5
"""Steps of verdict by which judgements of like pieces differ at the least: a verdict is a whole
number, which alone makes 0.3, and no two judges agree (common practice, no source)."""


@dataclass(frozen=True)
class PlacedVerdict:
    """One judged piece at a place.

    Attributes
    ----------
    place : names it
    verdict : −2 to +2
    expected : what that firing's heat work would have given, on the same scale; None if not known
    """

    place: Hashable
    verdict: int
    expected: float | None = None


@dataclass(frozen=True)
class PlaceOutcome:
    """What came of a place.

    Attributes
    ----------
    pieces : how many were judged there
    counts : by verdict
    middle : the middle verdict: between two, the one nearer to "as wanted"
    apart : steps of verdict, on average, beyond what the firings' heat work would have given;
        below 0 for a cold place; None where nothing was expected
    is_apart : whether that is more than chance
    """

    pieces: int
    counts: Mapping[int, int]
    middle: int
    apart: float | None
    is_apart: bool


def place_outcomes(judged: Iterable[PlacedVerdict]) -> dict[Hashable, PlaceOutcome]:
    """Sum up the judged pieces of each place.

    Parameters
    ----------
    judged : in any order

    Raises
    ------
    ValueError: for a verdict beyond −2 or +2.

    Examples
    --------
    >>> cold = [PlacedVerdict("front", -1, 0.0)] * 4
    >>> outcome = place_outcomes([*cold, PlacedVerdict("centre", 0, 0.1)])
    >>> outcome["front"].middle, outcome["front"].apart, outcome["front"].is_apart
    (-1, -1.0, True)
    >>> outcome["centre"].is_apart
    False
    """
    by_place: dict[Hashable, list[PlacedVerdict]] = defaultdict(list)
    for one in judged:
        if not -2 <= one.verdict <= 2:
            raise ValueError(f"{one.verdict} is no verdict: they go from −2 to 2")
        by_place[one.place].append(one)
    return {place: _outcome(there) for place, there in by_place.items()}


def _outcome(there: list[PlacedVerdict]) -> PlaceOutcome:
    away = [one.verdict - one.expected for one in there if one.expected is not None]
    apart = statistics.fmean(away) if away else None
    return PlaceOutcome(
        pieces=len(there),
        counts=dict(sorted(Counter(one.verdict for one in there).items())),
        middle=int(statistics.median(one.verdict for one in there)),
        apart=apart,
        is_apart=apart is not None and _is_more_than_chance(away, apart),
    )


def _is_more_than_chance(away: list[float], apart: float) -> bool:
    if len(away) < LEAST_PIECES or abs(apart) < LEAST_APART:
        return False
    spread = max(statistics.stdev(away), JUDGE_SPREAD)
    return abs(apart) > ERRORS * spread / sqrt(len(away))
