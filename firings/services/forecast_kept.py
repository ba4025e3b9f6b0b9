"""Whether a firing did what a forecast spoke of: the change that was advised, or none."""

from collections.abc import Sequence
from typing import Literal

from schedules.services.curve import Segment

FiredAs = Literal["as_advised", "as_it_stood", "otherwise"]

NEAR_C = 0.5
"""°C: below the least step of any controller, and above what a change of unit rounds away."""
NEAR_S = 30.0
"""s, likewise: holds are keyed in minutes."""
NEAR_RATE = 0.01
"""Share of a rate."""


def fired_as(
    keyed: Sequence[Segment], stood: Sequence[Segment], advised: Sequence[Segment] | None
) -> FiredAs:
    """What was fired, number by number.

    Parameters
    ----------
    keyed : what was keyed into the kiln, °C/h, °C and s
    stood : the revision that the forecast was given for
    advised : the same with the advised change, or None where none was advised

    Returns
    -------
    "as_advised", "as_it_stood", or "otherwise" for anything else.

    Examples
    --------
    >>> stood, hotter = [Segment(200.0, 804.0, 600.0)], [Segment(200.0, 809.0, 600.0)]
    >>> fired_as([Segment(200.0, 809.2, 600.0)], stood, hotter)
    'as_advised'
    >>> fired_as([Segment(200.0, 815.0, 600.0)], stood, hotter)
    'otherwise'
    """
    if advised is not None and _same(keyed, advised):
        return "as_advised"
    return "as_it_stood" if _same(keyed, stood) else "otherwise"


def _same(keyed: Sequence[Segment], told: Sequence[Segment]) -> bool:
    return len(keyed) == len(told) and all(map(_same_segment, keyed, told))


def _same_segment(keyed: Segment, told: Segment) -> bool:
    if keyed.rate is None or told.rate is None:
        same_rate = keyed.rate is told.rate
    else:
        same_rate = abs(keyed.rate - told.rate) <= NEAR_RATE * told.rate
    return (
        same_rate
        and abs(keyed.target - told.target) < NEAR_C
        and abs(keyed.hold - told.hold) < NEAR_S
    )
