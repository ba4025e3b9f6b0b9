"""Whether what was learnt of a kiln tells how long its firings take."""

from collections.abc import Sequence
from math import log
from statistics import median

from schedules.services.curve import Curve, planned_curve
from studio.services.kiln_response import KilnResponse

NO_WORSE = 0.005
"""Of the ln of a duration: what a learnt response may be farther off than the one before it."""


def foretells_as_well(
    durations: Sequence[float | None], plans: Sequence[Curve], learnt: KilnResponse
) -> bool:
    """Whether a learnt response tells the durations at least as well as the plans did.

    A controller that lags behind by itself looks like a kiln at full power; what is learnt from it
    makes every plan too long, and shows by that.

    Parameters
    ----------
    durations : s to the end of the last segment, None where it is not known
    plans : the curve that each was to follow, by the response before
    learnt : what the recordings taught

    Returns
    -------
    bool; True where no duration can tell.

    Examples
    --------
    >>> from schedules.services.curve import Segment
    >>> before, true = (KilnResponse(1100.0, each, 9000.0) for each in (5000.0, 7200.0))
    >>> schedule = [Segment(None, 800.0, 600.0)]
    >>> took = [planned_curve(schedule, true).duration] * 3
    >>> plans = [planned_curve(schedule, before)] * 3
    >>> foretells_as_well(took, plans, true)
    True
    >>> foretells_as_well(took, plans, KilnResponse(1100.0, 20000.0, 9000.0))
    False
    """
    by_plan, by_learnt = [], []
    for took, plan in zip(durations, plans, strict=True):
        if not took or not plan.duration:
            continue
        again = planned_curve(plan.segments, learnt, plan.start).duration
        if not again:
            return False  # it says that the kiln can't do what it did
        by_plan.append(abs(log(took / plan.duration)))
        by_learnt.append(abs(log(took / again)))
    return not by_plan or median(by_learnt) <= median(by_plan) + NO_WORSE
