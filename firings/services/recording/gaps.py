"""Gaps of a recording: stretches of which nothing is known."""

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.series import Floats

USUAL_STEPS, SECONDS = 5.0, 90.0
"""A gap is longer than so many times the usual step, and than so many seconds."""


def gaps_of(
    times: Floats, unknown: NDArray[np.bool_] | None = None
) -> tuple[tuple[float, float], ...]:
    """From and to, s, of each gap between readings.

    Parameters
    ----------
    times : s, rising, shape (n,)
    unknown : whether an unknown time passed between a reading and the next, shape (n − 1,)

    Examples
    --------
    >>> gaps_of(np.array([0.0, 30.0, 60.0, 3660.0, 3690.0]))
    ((60.0, 3660.0),)
    """
    steps = np.diff(times)
    if not steps.size:
        return ()
    apart = steps > max(USUAL_STEPS * float(np.median(steps)), SECONDS)
    before = np.flatnonzero(apart if unknown is None else apart | unknown)
    return tuple(zip(times[before].tolist(), times[before + 1].tolist(), strict=True))
