"""How a thermocouple shows a kiln's corners: late and rounded, as a lag of the first order."""

from math import factorial

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def seen_corner(seconds: Floats, lag: float, order: int = 1) -> Floats:
    """What is shown of a course that was still and since then goes as t^order/order!.

    Parameters
    ----------
    seconds : since the corner, any shape; nothing is shown before it
    lag : s, above 0, of the thermocouple
    order : 0 a step, 1 a corner between two lines, 2 one into a parabola

    Returns
    -------
    In the shape of `seconds`, s to the power of `order`.

    Notes
    -----
    The response of a lag of the first order; a step's is 1 − exp(−t/lag), and each further one is
    the integral of the one before (any text on linear systems).

    Examples
    --------
    >>> [round(float(x), 2) for x in seen_corner(np.array([-10.0, 25.0, 250.0]), 25.0)]
    [0.0, 9.2, 225.0]
    """
    after = np.maximum(seconds, 0.0)
    shown = 1.0 - np.exp(-after / lag)
    for power in range(1, order + 1):
        shown = after**power / factorial(power) - lag * shown
    return np.asarray(shown, dtype=np.float64)
