"""The longest safe stages of cooling for a piece, and what a firing made of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from schedules.services.anneal_plan import CoolingStage, StageRule, cooling_stages
from schedules.services.case import COOLED
from schedules.services.practice import first_cooling_of_practice
from studio.services.glass import Glass
from studio.services.kiln_response import SECONDS_PER_HOUR

Floats = NDArray[np.float64]

SECOND_MOST, THIRD_MOST = 150.0, 330.0
"""°C/h: common practice goes no faster in the later stages of cooling, however thin the piece."""
FASTER_BY = 1.25
"""Times a stage's rate from which a firing counts as faster: makers' tables differ by as much (what
they come to through a slab is 3.1 to 3.9 °C), round figures by less."""
RATE_SHARE = 1 / 3
"""Of the least time of a stage, over which the rate of a fall is told: what a slab follows."""
_MOMENTS = 200
_THERE = 0.01
"""°C from the end of a stage at which it counts as passed: a plan stops just there."""


def safe_stages(
    thickness: float, glass: Glass, soak: float, faces: int = 1, *, end: float = COOLED
) -> tuple[CoolingStage, CoolingStage, CoolingStage]:
    """`cooling_stages`, none faster than common practice goes with a thin piece.

    Parameters
    ----------
    thickness : m
    glass : see `Glass`
    soak : its temperature in the glass, °C
    faces : 1 or 2
    end : °C at which the third stage ends

    Raises
    ------
    ValueError
        As `cooling_stages`.

    Source: `cooling_stages`; the caps are common practice, no source.

    Examples
    --------
    >>> glass = Glass(493.0, 532.0, 677.0)
    >>> [round(stage.rate) for stage in safe_stages(0.006, glass, 482.0)]
    [83, 149, 330]
    >>> [round(stage.rate) for stage in safe_stages(0.025, glass, 482.0)]
    [15, 27, 90]
    """
    first, second, third = cooling_stages(thickness, glass, soak, faces, end=end)
    rule = StageRule()
    most = min(first.rate, first_cooling_of_practice(thickness / faces))
    return (
        replace(first, rate=most),
        replace(second, rate=min(most * rule.second, SECOND_MOST)),
        replace(third, rate=min(most * rule.third, THIRD_MOST)),
    )


@dataclass(frozen=True, slots=True)
class StagePassed:
    """How a firing went through a stage.

    Attributes
    ----------
    stage : with the fastest rate that is safe
    fastest : °C/h over the fastest third of the stage's least time, or None where it was not
        passed to its end
    took : s, or None likewise
    """

    stage: CoolingStage
    fastest: float | None
    took: float | None

    @property
    def is_faster(self) -> bool:
        """Whether the firing was faster than the stage asks, by more than makers differ."""
        return self.fastest is not None and self.fastest > FASTER_BY * self.stage.rate


def stages_passed(
    times: ArrayLike, faces: ArrayLike, stages: Sequence[CoolingStage], *, since: float
) -> tuple[StagePassed, ...]:
    """How a firing went through each stage.

    Parameters
    ----------
    times : s, never falling, shape (n,)
    faces : temperature of the glass's face, °C, shape (n,)
    stages : from the soak down
    since : s at which the soak ended

    Returns
    -------
    One `StagePassed` for each stage.

    Raises
    ------
    ValueError
        When times and temperatures are not of one length.

    Examples
    --------
    >>> stage = CoolingStage(482.0, 427.0, 80.0)
    >>> [passed] = stages_passed([0.0, 7200.0], [482.0, 282.0], [stage], since=0.0)
    >>> round(passed.fastest), round(passed.took / 60), passed.is_faster
    (100, 33, True)
    """
    seconds, celsius = np.asarray(times, np.float64), np.asarray(faces, np.float64)
    if seconds.shape != celsius.shape:
        raise ValueError(f"Times and temperatures differ: {seconds.shape}, {celsius.shape}.")
    return tuple(_passed(seconds, celsius, stage, since) for stage in stages)


def _passed(times: Floats, faces: Floats, stage: CoolingStage, since: float) -> StagePassed:
    begins = _falls_to(times, faces, stage.start, since)
    ends = None if begins is None else _falls_to(times, faces, stage.end, begins)
    if begins is None or ends is None or ends <= begins:
        return StagePassed(stage, None, None)
    over = min(stage.duration * RATE_SHARE, ends - begins)
    moments = np.linspace(begins, ends - over, _MOMENTS)
    falls = np.interp(moments, times, faces) - np.interp(moments + over, times, faces)
    fastest = float(falls.max()) / over * SECONDS_PER_HOUR
    return StagePassed(stage, fastest, ends - begins)


def _falls_to(times: Floats, faces: Floats, temperature: float, since: float) -> float | None:
    """s at which the face first is at `temperature` or below, from `since` on."""
    below = np.flatnonzero((times >= since) & (faces <= temperature + _THERE))
    if below.size == 0:
        return None
    first = int(below[0])
    if first == 0 or faces[first] > temperature or faces[first - 1] <= temperature:
        return max(float(times[first]), since)
    share = (faces[first - 1] - temperature) / (faces[first - 1] - faces[first])
    moment = float(times[first - 1] + share * (times[first] - times[first - 1]))
    return max(moment, since)
