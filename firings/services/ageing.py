"""Whether a kiln changes over months: its rise at full power, and what its display says.

Data, not words: a trend with its interval, and whether it is real.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray
from scipy.stats import theilslopes

Floats = NDArray[np.float64]

CONFIDENCE = 0.99
"""Of the interval of a trend: it is looked at after every firing, and should not cry wolf."""
LEAST_FIRINGS = 6
"""From which a trend is told at all: of fewer, chance draws too many."""
LEAST_CHANGE = 0.05
"""Share by which a rise has to have changed to be worth a word (common practice, no source)."""
LEAST_DRIFT = 4.0
"""°C by which verdicts and display have to part ways (common practice, no source)."""
VERDICT_PER_DEGREE = 0.14
"""Steps of verdict that 1 °C at the top is worth: four steps to an e-fold of heat work, which is
28 °C at a full fuse."""
DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class SeenRise:
    """The rise at full power of one firing.

    Attributes
    ----------
    day : from any fixed day on
    rise : °C/h at 700 °C
    """

    day: float
    rise: float


@dataclass(frozen=True)
class Trend:
    """A trend over all firings, by Theil and Sen: the median of the slopes between any two.

    Attributes
    ----------
    since : day of the first firing
    days : to the last
    firings : how many
    change : over `days`, a share of what it was at first; or °C for a drift
    low, high : the interval of `change`
    per_year : change a year
    real : whether the interval leaves no doubt of its direction, and it is worth a word
    """

    since: float
    days: float
    firings: int
    change: float
    low: float
    high: float
    per_year: float
    real: bool


def rise_trend(seen: Sequence[SeenRise], confidence: float = CONFIDENCE) -> Trend | None:
    """How a kiln's rise at full power has changed from firing to firing.

    Parameters
    ----------
    seen : in any order
    confidence : of the interval

    Returns
    -------
    Trend, its changes shares (−0.14 is 14 % less); None for fewer than `LEAST_FIRINGS` firings, or
    all on one day.

    Raises
    ------
    ValueError
        For a rise that is not positive.

    Examples
    --------
    >>> falling = [SeenRise(10.0 * n, 300.0 * 0.98**n + (-1) ** n) for n in range(10)]
    >>> trend = rise_trend(falling)
    >>> trend.real, round(trend.change, 2)
    (True, -0.17)
    """
    if any(not each.rise > 0 for each in seen):
        raise ValueError("A rise at full power is positive.")
    found = _slope([each.day for each in seen], [each.rise for each in seen], confidence, log=True)
    if found is None:
        return None
    days, slope, low, high = found
    change, least, most = (exp(each * days) - 1.0 for each in (slope, low, high))
    return Trend(
        since=min(each.day for each in seen),
        days=days,
        firings=len(seen),
        change=change,
        low=least,
        high=most,
        per_year=exp(slope * DAYS_PER_YEAR) - 1.0,
        real=(least > 0 or most < 0) and abs(change) >= LEAST_CHANGE,
    )


@dataclass(frozen=True)
class JudgedPeak:
    """What the display said of a firing, and what the glass said.

    Attributes
    ----------
    day : from any fixed day on
    peak_difference : °C by which the recorded peak, or its equal in heat work, lay above what the
        schedule needs to come out as wanted
    verdict : −2 well short … 0 as wanted … +2 well past
    """

    day: float
    peak_difference: float
    verdict: float


def thermocouple_drift(
    judged: Sequence[JudgedPeak],
    verdict_per_degree: float = VERDICT_PER_DEGREE,
    confidence: float = CONFIDENCE,
) -> Trend | None:
    """Whether verdicts and recorded peaks part ways, as they do when a thermocouple drifts.

    Parameters
    ----------
    judged : firings of schedules whose need is known, in any order
    verdict_per_degree : steps of verdict to 1 °C at the top
    confidence : of the interval

    Returns
    -------
    Trend in °C: of how much farther the glass came out than its display says. Rising, the display
    reads ever lower than it was (the glass gets hotter at the same figure); falling, ever higher.
    None for fewer than `LEAST_FIRINGS` firings, or all on one day. A hint only: a changed glass,
    load or judge parts them too.

    Raises
    ------
    ValueError
        For a verdict per degree that is not positive.

    Examples
    --------
    >>> judged = [JudgedPeak(7.0 * n, 0.0, -1.0 + n / 6) for n in range(12)]
    >>> trend = thermocouple_drift(judged)
    >>> trend.real, round(trend.change)
    (True, 13)
    """
    if not verdict_per_degree > 0:
        raise ValueError(f"A hotter top is worth more of a verdict: {verdict_per_degree}.")
    apart = [each.verdict / verdict_per_degree - each.peak_difference for each in judged]
    found = _slope([each.day for each in judged], apart, confidence, log=False)
    if found is None:
        return None
    days, slope, low, high = found
    return Trend(
        since=min(each.day for each in judged),
        days=days,
        firings=len(judged),
        change=slope * days,
        low=low * days,
        high=high * days,
        per_year=slope * DAYS_PER_YEAR,
        real=(low > 0 or high < 0) and abs(slope * days) >= LEAST_DRIFT,
    )


def _slope(
    days: Sequence[float], values: Sequence[float], confidence: float, *, log: bool
) -> tuple[float, float, float, float] | None:
    """Days covered, and the slope a day with its interval."""
    at = np.asarray(days, dtype=np.float64)
    if at.size < LEAST_FIRINGS or np.ptp(at) <= 0:
        return None
    seen = np.asarray(values, dtype=np.float64)
    found = theilslopes(np.log(seen) if log else seen, at, alpha=confidence)
    return float(np.ptp(at)), float(found.slope), float(found.low_slope), float(found.high_slope)
