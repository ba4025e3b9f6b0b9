"""Hotter or longer: the hold that makes up for another peak, and the peak for another hold.

Both compare whole curves of one kiln, approach and cooling included, for a controller that waits
for the kiln.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import log

from scipy.optimize import brentq

from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass, fluidity
from studio.services.kiln_response import REACH, KilnResponse

PEAK_PRECISION = 1e-3
"""°C to which `equal_heat_work_peak` finds its answer."""
NEAR = 25.0
"""°C about the target within which that answer is looked for first: it mostly lies there."""


def equal_heat_work_hold(
    segments: Sequence[Segment], index: int, target: float, response: KilnResponse, glass: Glass
) -> float | None:
    """The hold with which another target in one segment leaves the heat work unchanged.

    Parameters
    ----------
    segments : the schedule as it stands
    index : of the segment to change
    target : its new target, °C
    response, glass : see `KilnResponse`, `Glass`

    Returns
    -------
    The new hold in s; None where even a hold of 0 is more heat work than before.

    Raises
    ------
    ValueError
        Where the kiln does not reach a target; and as `planned_curve`.

    Examples
    --------
    >>> kiln = KilnResponse(1200.0, 3600.0, 7200.0)
    >>> fuse = [Segment(300.0, 804.0, 600.0), Segment(None, 516.0, 3600.0)]
    >>> round(equal_heat_work_hold(fuse, 1, 516.0, kiln, Glass()))
    3600
    """
    wanted = planned_curve(segments, response).heat_work(glass)
    unheld = planned_curve(_with(segments, index, target, 0.0), response).heat_work(glass)
    # A hold adds heat work in proportion to its length and leaves the rest of the curve alone.
    hold = (wanted - unheld) / fluidity(target, glass)
    return hold if hold >= 0 else None


def equal_heat_work_peak(
    segments: Sequence[Segment], index: int, hold: float, response: KilnResponse, glass: Glass
) -> float | None:
    """The target with which another hold in one segment leaves the heat work unchanged.

    Parameters
    ----------
    segments : the schedule as it stands
    index : of the segment to change, its peak
    hold : its new hold, s
    response, glass : see `KilnResponse`, `Glass`

    Returns
    -------
    The new target in °C, to 0.001 °C; None where none between the annealing point and the kiln's
    limit will do.

    Raises
    ------
    ValueError
        Where the kiln does not reach a target; and as `planned_curve`.

    Examples
    --------
    >>> kiln = KilnResponse(1200.0, 3600.0, 7200.0)
    >>> fuse = [Segment(300.0, 804.0, 600.0), Segment(None, 516.0, 3600.0)]
    >>> round(equal_heat_work_peak(fuse, 0, 600.0, kiln, Glass()), 2)
    804.0
    """
    wanted = planned_curve(segments, response).heat_work(glass)

    def excess(target: float) -> float:
        curve = planned_curve(_with(segments, index, target, hold), response)
        return log(curve.heat_work(glass) / wanted)

    low = glass.annealing_point
    high = response.full_power_limit - 2 * REACH
    if low >= high:
        return None
    near = max(low, segments[index].target - NEAR), min(high, segments[index].target + NEAR)
    if not (near[0] < near[1] and excess(near[0]) <= 0 <= excess(near[1])):
        near = low, high
        if excess(low) > 0 or excess(high) < 0:
            return None
    return float(brentq(excess, *near, xtol=PEAK_PRECISION))


def _with(segments: Sequence[Segment], index: int, target: float, hold: float) -> list[Segment]:
    changed = list(segments)
    changed[index] = replace(changed[index], target=target, hold=hold)
    return changed
