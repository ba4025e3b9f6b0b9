"""Whether forecasts of "as wanted" came true as often as they said, and whether they were worth it.

A chance of 70 % is right where 7 of 10 such forecasts come true. The score is the mean square of
chance less outcome (1 or 0), and the skill holds it against whoever always says the base rate.

Sources: G. W. Brier, Verification of forecasts expressed in terms of probability, Monthly Weather
Review 78 (1950) 1–3, in its form for one outcome; E. B. Wilson, Probable inference, J. American
Statistical Association 22 (1927) 209–212, for the interval of a share.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Told = Literal["as_said", "more_often", "less_often", "too_few"]
Worth = Literal["better", "worse", "no_telling", "too_few"]

LEAST = 30
"""Forecasts from which score and skill are told: of fewer, chance decides (our own choice)."""
LEAST_IN_BIN = 8
"""Forecasts of one bin from which it is held against what they said (our own choice)."""
BINS = 5
"""Of equal width: of the tens of forecasts that a studio has, finer bins would be empty."""
DEVIATIONS = 1.96
"""Standard deviations of a normal variable that leave out one in twenty."""


@dataclass(frozen=True)
class Bin:
    """The forecasts that said about the same.

    Attributes
    ----------
    low, high : edges of their chances, 0 to 1; the lower belongs to the bin, the upper to the next
    forecasts : how many
    said : the mean of their chances
    came : how many came as wanted
    share : `came` of `forecasts`
    share_low, share_high : between which the share may lie in the long run, at 95 %
    told : "as_said", "more_often" or "less_often" than said beyond chance, or "too_few" to tell
    """

    low: float
    high: float
    forecasts: int
    said: float
    came: int
    share: float
    share_low: float
    share_high: float
    told: Told


@dataclass(frozen=True)
class Calibration:
    """How a number of forecasts did.

    Attributes
    ----------
    forecasts : how many were scored
    came : how many of them came as wanted
    said : the mean of their chances
    told : as of a `Bin`, of all of them: whether as many came as their chances add up to
    bins : those that hold any forecast, from low chances to high ones
    brier : the mean square of chance less outcome: 0 is perfect, 0.25 is a coin
    brier_of_base_rate : of whoever always says `base_rate`, known in hindsight
    skill : 1 − brier / brier_of_base_rate; None where all came out alike, so that nobody could do
        better
    skill_doubt : the standard error of `skill`, from the differences forecast by forecast; or None
    worth : whether the forecasts beat the base rate: "better", "worse", "no_telling", or "too_few"
    """

    forecasts: int
    came: int
    said: float
    told: Told
    bins: tuple[Bin, ...]
    brier: float
    brier_of_base_rate: float
    skill: float | None
    skill_doubt: float | None
    worth: Worth

    @property
    def base_rate(self) -> float:
        """The share that came as wanted."""
        return self.came / self.forecasts

    @property
    def is_enough(self) -> bool:
        return self.forecasts >= LEAST


def calibrate(chances: ArrayLike, came: ArrayLike, bins: int = BINS) -> Calibration | None:
    """Hold forecasts against what came.

    Parameters
    ----------
    chances : of "as wanted", each from 0 to 1, shape (n,)
    came : whether it came as wanted, shape (n,)
    bins : how many of equal width

    Returns
    -------
    Calibration; None where there is no forecast.

    Raises
    ------
    ValueError : a chance that is no number from 0 to 1, or shapes that differ.

    Examples
    --------
    >>> found = calibrate([0.7, 0.7, 0.7, 0.2], [True, True, False, False])
    >>> round(found.brier, 4), found.bins[1].came, found.bins[1].told
    (0.1775, 2, 'too_few')
    """
    said = np.asarray(chances, dtype=np.float64)
    truth = np.asarray(came, dtype=np.float64)
    if said.ndim != 1 or said.shape != truth.shape:
        raise ValueError(f"chances of shape {said.shape} against outcomes of shape {truth.shape}")
    if not np.all((said >= 0.0) & (said <= 1.0)):
        raise ValueError("a chance lies between 0 and 1")
    if said.size == 0:
        return None
    own = (said - truth) ** 2
    base = (truth.mean() - truth) ** 2
    brier, brier_of_base_rate = float(own.mean()), float(base.mean())
    skill = 1.0 - brier / brier_of_base_rate if brier_of_base_rate else None
    doubt = _mean_doubt(base - own) / brier_of_base_rate if brier_of_base_rate else None
    return Calibration(
        forecasts=said.size,
        came=int(truth.sum()),
        said=float(said.mean()),
        told=_told(said, int(truth.sum()), LEAST),
        bins=_binned(said, truth, bins),
        brier=brier,
        brier_of_base_rate=brier_of_base_rate,
        skill=skill,
        skill_doubt=doubt,
        worth=_worth(said.size, skill, doubt),
    )


def share_interval(came: int, forecasts: int) -> tuple[float, float]:
    """Between which a share may lie in the long run, at 95 %, by Wilson's formula.

    Parameters
    ----------
    came, forecasts : `came` of `forecasts`, of which there is at least one

    Examples
    --------
    >>> [round(edge, 3) for edge in share_interval(15, 23)]
    [0.449, 0.812]
    """
    share, square = came / forecasts, DEVIATIONS**2
    middle = (share + square / (2 * forecasts)) / (1 + square / forecasts)
    half = DEVIATIONS * sqrt(share * (1 - share) / forecasts + square / (4 * forecasts**2))
    half /= 1 + square / forecasts
    return max(middle - half, 0.0), min(middle + half, 1.0)


def expected_counts(chances: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """How many of each verdict forecasts foretold: the sums of their chances.

    Parameters
    ----------
    chances : shape (n, 5), of each verdict from well short to well past

    Returns
    -------
    Five counts, or none where there is no forecast.

    Examples
    --------
    >>> expected_counts([[0.0, 0.5, 0.5, 0.0, 0.0], [0.0, 0.25, 0.5, 0.25, 0.0]])
    (0.0, 0.75, 1.0, 0.25, 0.0)
    """
    if not chances:
        return ()
    return tuple(np.sum(np.asarray(chances, dtype=np.float64), axis=0).tolist())


def _binned(said: Floats, truth: Floats, bins: int) -> tuple[Bin, ...]:
    edges = np.linspace(0.0, 1.0, bins + 1)
    where = np.clip(np.searchsorted(edges, said, side="right") - 1, 0, bins - 1)
    return tuple(
        _bin(said[where == index], truth[where == index], edges[index], edges[index + 1])
        for index in range(bins)
        if np.any(where == index)
    )


def _bin(said: Floats, truth: Floats, low: float, high: float) -> Bin:
    came = int(truth.sum())
    share_low, share_high = share_interval(came, said.size)
    return Bin(
        low=float(low),
        high=float(high),
        forecasts=said.size,
        said=float(said.mean()),
        came=came,
        share=came / said.size,
        share_low=share_low,
        share_high=share_high,
        told=_told(said, came, LEAST_IN_BIN),
    )


def _told(said: Floats, came: int, least: int) -> Told:
    """By how many of them would have come, were each chance right: a sum of unequal coins."""
    if said.size < least:
        return "too_few"
    away = came - float(said.sum())
    if abs(away) <= DEVIATIONS * sqrt(float((said * (1.0 - said)).sum())):
        return "as_said"
    return "more_often" if away > 0 else "less_often"


def _mean_doubt(values: Floats) -> float:
    """The standard error of their mean."""
    return float(values.std(ddof=1)) / sqrt(values.size) if values.size > 1 else float("inf")


def _worth(forecasts: int, skill: float | None, doubt: float | None) -> Worth:
    if forecasts < LEAST:
        return "too_few"
    if skill is None or doubt is None or abs(skill) <= DEVIATIONS * doubt:
        return "no_telling"
    return "better" if skill > 0 else "worse"
