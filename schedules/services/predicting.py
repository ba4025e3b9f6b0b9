"""How long a firing will take in a kiln whose response was learnt, and how sure that is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse
from studio.services.response_parameters import parameters, with_parameters

Floats = NDArray[np.float64]

COVERAGE = 0.9
"""Share of firings that end within the stated range."""
CONTROL = 0.005
"""Standard deviation of the ln of a duration that is the controller's and the room's, not the
response's (common practice, no source)."""


@dataclass(frozen=True)
class PredictedTime:
    """s from the start: what is expected, and the range within which it lies.

    Attributes
    ----------
    expected, earliest, latest : s
    coverage : share of firings that lie within the range
    """

    expected: float
    earliest: float
    latest: float
    coverage: float


def predict_time(
    segments: Sequence[Segment],
    response: KilnResponse,
    temperature: float | None = None,
    start: float | None = None,
    coverage: float = COVERAGE,
    *,
    waits: bool = True,
) -> PredictedTime | None:
    """When a firing will have ended, or the kiln be cool enough to open.

    Parameters
    ----------
    segments : the schedule
    response : of the kiln; without a covariance the range is that of the controller alone
    temperature : °C to which the kiln is to cool; None for the end of the last segment
    start : °C of the kiln at the start
    coverage : share of firings that the range is to hold
    waits : whether the controller waits for the kiln, as for `planned_curve`

    Returns
    -------
    PredictedTime, or None where the kiln does not reach a target or never cools so far.

    Raises
    ------
    ValueError
        For a coverage that does not lie between 0 and 1, and as `planned_curve`.

    Examples
    --------
    >>> kiln = KilnResponse(1100.0, 7200.0, 10800.0, covariance=np.diag([100.0, 0, 1e6, 1e6]))
    >>> seen = predict_time([Segment(200.0, 804.0, 600.0)], kiln, 60.0)
    >>> round(seen.expected / 3600, 1), seen.earliest < seen.expected < seen.latest
    (13.1, True)
    """
    middle = parameters(response)

    def time(values: Sequence[float]) -> float | None:
        curve = planned_curve(segments, with_parameters(response, values), start, waits)
        return curve.duration if temperature is None else curve.cool_to(temperature)

    expected = time(middle.tolist())
    if expected is None or expected <= 0:
        return None
    variance = CONTROL**2
    if response.covariance is not None:
        variance += _variance(time, middle, np.asarray(response.covariance), expected)
    reach = NormalDist().inv_cdf((1 + coverage) / 2) * sqrt(variance)
    return PredictedTime(expected, expected * exp(-reach), expected * exp(reach), coverage)


def _variance(
    time: Callable[[Sequence[float]], float | None],
    middle: Floats,
    covariance: Floats,
    expected: float,
) -> float:
    """Of the ln of a time, by a step of one standard deviation of each parameter either way."""
    deviations = np.sqrt(np.diag(covariance))
    slopes = np.zeros(middle.size)
    for number, deviation in enumerate(deviations.tolist()):
        if deviation <= 0:
            continue
        ends = []
        for sign in (1.0, -1.0):
            moved = middle.copy()
            moved[number] += sign * min(deviation, 0.5 * middle[number])
            ends.append(time(moved.tolist()))
        # A kiln too weak by a deviation does not get there at all: then the other side tells.
        logs = [log(end / expected) for end in ends if end is not None and end > 0]
        if len(logs) == 2:
            slopes[number] = (logs[0] - logs[1]) / 2 / deviation
        elif logs:
            slopes[number] = abs(logs[0]) / deviation
    return float(slopes @ covariance @ slopes)
