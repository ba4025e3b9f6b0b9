"""A long series as few points that look the same when drawn."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def thinned(times: Floats, temperatures: Floats, most: int) -> tuple[Floats, Floats]:
    """At most `most` points of a series, each stretch's lowest and highest among them.

    The series is cut into stretches of equally many readings. No peak and no dip is lost, both ends
    are kept, and where a stretch holds a gap (NaN) so does what is kept of it.

    Parameters
    ----------
    times : s, rising, shape (n,)
    temperatures : °C, shape (n,); NaN breaks the line
    most : points to keep, at least 8

    Returns
    -------
    Times and temperatures, shape (m,) with m ≤ `most`; the series itself if it is short enough.

    Raises
    ------
    ValueError
        For fewer than 8 points.

    Examples
    --------
    >>> times = np.arange(100_000.0)
    >>> few, thin = thinned(times, np.where(times == 41_234, 804.0, 20.0), 400)
    >>> few.size <= 400, float(thin.max())
    (True, 804.0)
    """
    if most < 8:
        raise ValueError(f"a series is thinned to 8 points at least, not {most}")
    if times.size <= most:
        return times, temperatures
    broken = np.isnan(temperatures)
    gaps = bool(broken.any())
    each = 3 if gaps else 2
    length = -(-times.size // ((most - 2) // each))
    whole = times.size // length * length
    kept = [np.array([0, times.size - 1])]
    for start, end in ((0, whole), (whole, times.size)):
        if start == end:
            continue
        width = min(length, end - start)
        first = np.arange(start, end, width)
        stretches = temperatures[start:end].reshape(-1, width)
        if not gaps:
            kept += [first + stretches.argmin(axis=1), first + stretches.argmax(axis=1)]
            continue
        gone = broken[start:end].reshape(-1, width)
        kept.append(first + np.where(gone, np.inf, stretches).argmin(axis=1))
        kept.append(first + np.where(gone, -np.inf, stretches).argmax(axis=1))
        kept.append((first + gone.argmax(axis=1))[gone.any(axis=1)])
    index = np.unique(np.concatenate(kept))
    return times[index], temperatures[index]
