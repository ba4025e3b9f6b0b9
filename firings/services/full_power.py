"""The rise at full power that one firing shows by itself, small enough to keep beside it."""

from dataclasses import dataclass

import numpy as np

from firings.services.kiln_learning import LEAST_SAMPLES
from firings.services.kiln_stretches import kiln_stretches
from firings.services.readings import Readings
from firings.services.recording import Recording
from schedules.services.curve import Curve
from studio.services.kiln_response import KilnResponse
from studio.services.response_parameters import NEAREST_LIMIT


@dataclass(frozen=True)
class SeenFullPower:
    """The middle of a firing's samples at full power, as it was measured.

    Kept so, and not as a rise at some other temperature, firings stay comparable when more is
    learnt of the kiln: one response carries all of them there.

    Attributes
    ----------
    temperature : °C, the median
    rate : °C/h, the median; above 0
    """

    temperature: float
    rate: float

    def rise_at(self, temperature: float, response: KilnResponse) -> float | None:
        """The rate carried to another temperature (°C) by the slope of a response, in °C/h.

        None where the firing was hotter than the response says that the kiln can be.

        Examples
        --------
        >>> kiln = KilnResponse(1100.0, 7200.0, 9000.0)
        >>> SeenFullPower(600.0, 275.0).rise_at(700.0, kiln)
        220.0
        """
        if self.temperature > response.full_power_limit - NEAREST_LIMIT:
            return None
        share = response.rise_at(temperature) / response.rise_at(self.temperature)
        return self.rate * share


def seen_full_power(
    recording: Recording, plan: Curve, response: KilnResponse
) -> SeenFullPower | None:
    """What a firing shows of its kiln at full power.

    Parameters
    ----------
    recording, plan : of the firing
    response : of the kiln; its room and split alone are used

    Returns
    -------
    SeenFullPower, or None where the kiln was never long enough at full power.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> kiln = KilnResponse(1100.0, 7200.0, 9000.0)
    >>> plan = planned_curve([Segment(None, 800.0, 600.0)], kiln)
    >>> times = np.arange(0.0, 40000.0, 30.0)
    >>> seen = seen_full_power(Recording(times, plan.at(times)), plan, kiln)
    >>> round(seen.rise_at(700.0, kiln))
    200
    """
    readings = Readings.of(recording)
    if readings is None or not plan.segments:
        return None
    seen = kiln_stretches(plan, readings, response.ambient, response.slow_cooling_below).heating
    if seen is None or seen.temperatures.size < LEAST_SAMPLES:
        return None
    rate = float(np.median(seen.rates))
    return SeenFullPower(float(np.median(seen.temperatures)), rate) if rate > 0 else None
