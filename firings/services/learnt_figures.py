"""A learnt response as figures with ranges, and which of them the recordings told of at all."""

from dataclasses import dataclass
from math import exp

import numpy as np
from scipy.stats import norm

from firings.services.kiln_learning import PRIOR_COOLING, PRIOR_LIMIT, PRIOR_RISE
from studio.services.kiln_response import KilnResponse
from studio.services.response_parameters import PARAMETERS, parameters

COVERAGE = 0.9
"""Share of firings in which a figure is to lie within its range."""
TOLD = 0.8
"""Share of the doubt that was there before recordings, below which they told of a figure."""


@dataclass(frozen=True)
class LearntFigure:
    """One of `PARAMETERS`.

    Attributes
    ----------
    name : in `PARAMETERS`
    value, low, high : °C/h, °C or s; the next firing's lies between low and high
    told : whether the recordings say more of it than was assumed before
    """

    name: str
    value: float
    low: float
    high: float
    told: bool


def learnt_figures(response: KilnResponse, coverage: float = COVERAGE) -> tuple[LearntFigure, ...]:
    """The figures of a learnt response.

    Parameters
    ----------
    response : with a covariance, as `learn_response` gives it
    coverage : share of firings that a range is to hold

    Raises
    ------
    ValueError
        For a response without a covariance.

    Examples
    --------
    >>> spread = np.diag([100.0, 1e4, 9e4, 4e7])
    >>> kiln = KilnResponse(1100.0, 7200.0, 9000.0, covariance=spread)
    >>> [(each.name, round(each.low), round(each.high), each.told) for each in learnt_figures(kiln)]
    ... # doctest: +NORMALIZE_WHITESPACE
    [('rise_at_700', 184, 217, True), ('full_power_limit', 936, 1264, False),
     ('cooling', 8520, 9507, True), ('slow_cooling', 2833, 28592, False)]
    """
    if response.covariance is None:
        raise ValueError("This response was not learnt: it has no covariance.")
    values = parameters(response).tolist()
    deviations = np.sqrt(np.diag(np.asarray(response.covariance))).tolist()
    reach = float(norm.ppf((1 + coverage) / 2))
    before = (PRIOR_RISE, PRIOR_LIMIT, PRIOR_COOLING, PRIOR_COOLING)
    figures = []
    for name, value, deviation, prior in zip(PARAMETERS, values, deviations, before, strict=True):
        if name == "full_power_limit":
            low, high, share = value - reach * deviation, value + reach * deviation, deviation
        else:
            share = deviation / value
            low, high = value * exp(-reach * share), value * exp(reach * share)
        figures.append(LearntFigure(name, value, low, high, share < TOLD * prior))
    return tuple(figures)
