"""A kiln's response by the four figures in which it is learnt and told: as one array, and back."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse

Floats = NDArray[np.float64]

RISE_TOLD_AT = 700.0
"""°C at which the rise at full power is told; between the peaks of a slump and of a fuse."""
PARAMETERS = ("rise_at_700", "full_power_limit", "cooling", "slow_cooling")
"""What a response's covariance is of, in this order: °C/h, °C, s, s."""
NEAREST_LIMIT = 20.0
"""°C by which the limit lies, at least, above the room, above 700 °C, and above the hottest that
the kiln was ever seen at full power."""
LEAST_RISE, LEAST_CONSTANT = 1.0, 60.0
"""°C/h and s below which no kiln's rise or cooling constant lies."""


def parameters(response: KilnResponse) -> Floats:
    """The values of `PARAMETERS`.

    Parameters
    ----------
    response : of a kiln; one with a single cooling constant gives it twice

    Returns
    -------
    shape (4,), in the units of `PARAMETERS`

    Examples
    --------
    >>> parameters(KilnResponse(1100.0, 7200.0, 9000.0)).tolist()
    [200.0, 1100.0, 9000.0, 9000.0]
    """
    slow = response.slow_cooling_time_constant
    cooling = response.cooling_time_constant
    return np.array(
        [
            response.rise_at(RISE_TOLD_AT),
            response.full_power_limit,
            cooling,
            cooling if slow is None else slow,
        ]
    )


def with_parameters(response: KilnResponse, values: Sequence[float]) -> KilnResponse:
    """The same kiln with other values of `PARAMETERS`, as far as a kiln can have them.

    Parameters
    ----------
    response : its room, split and covariance are kept, and whether it has a slow constant at all
    values : four, in the units of `PARAMETERS`; those that no kiln has become the nearest that can
        be: the limit by `NEAREST_LIMIT`, rise and constants by `LEAST_RISE` and `LEAST_CONSTANT`,
        the slow constant by the other

    Raises
    ------
    ValueError
        When there are not four values.

    Examples
    --------
    >>> known = KilnResponse(1100.0, 7200.0, 9000.0)
    >>> kiln = with_parameters(known, [220.0, 1030.0, 8000.0, 8000.0])
    >>> kiln.full_power_limit, kiln.heating_time_constant, kiln.cooling_time_constant
    (1030.0, 5400.0, 8000.0)
    """
    rise, limit, cooling, slow = values
    limit = max(limit, RISE_TOLD_AT + NEAREST_LIMIT, response.ambient + NEAREST_LIMIT)
    return replace(
        response,
        full_power_limit=limit,
        heating_time_constant=heating_time_constant(max(rise, LEAST_RISE), limit),
        cooling_time_constant=max(cooling, LEAST_CONSTANT),
        slow_cooling_time_constant=None
        if response.slow_cooling_time_constant is None
        else max(slow, cooling, LEAST_CONSTANT),
    )


def heating_time_constant(rise: float, limit: float) -> float:
    """The heating time constant of a kiln of which the rise is told.

    Parameters
    ----------
    rise : °C/h at full power at `RISE_TOLD_AT`, above 0
    limit : °C at full power

    Returns
    -------
    s, from dT/dt = (limit − T) / constant; as positive as the limit lies above `RISE_TOLD_AT`

    Examples
    --------
    >>> heating_time_constant(200.0, 1100.0)
    7200.0
    """
    return (limit - RISE_TOLD_AT) / rise * SECONDS_PER_HOUR
