"""What a schedule becomes in another kiln, as `translating` gives it."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from schedules.services.case import COOLED
from schedules.services.curve import Curve, Segment
from schedules.services.merging import Merging
from schedules.services.writing import Rounding, WrittenSegment, to_core

Part = Literal["top", "soak", "other"]

TOLD_SLOWER = 0.02
"""Of a ramp's time by its own rate, beyond which the kiln counts as too slow for it."""
TOLD_APART = 300.0
"""s by which a ramp at full power differs between two kilns before it is told."""


@dataclass(frozen=True)
class TranslatedSegment:
    """One segment of the schedule in the other kiln.

    Attributes
    ----------
    written : as it is keyed there, in that controller's unit
    made_of : indexes of the segments that it was made of
    part : "top" where its target moves with the peak, "soak" for the anneal soak, "other"
    roundings : what is keyed and not quite met
    """

    written: WrittenSegment
    made_of: tuple[int, ...]
    part: Part
    roundings: tuple[Rounding, ...] = ()


@dataclass(frozen=True, slots=True)
class Ramp:
    """How a ramp goes in the other kiln.

    Attributes
    ----------
    segment : index in the translated schedule
    asked : °C/h, None for full power
    reached : °C/h on average
    takes : s in the other kiln
    took : s of the same segments in the kiln that it comes from; None where it does not reach them
    """

    segment: int
    asked: float | None
    reached: float
    takes: float
    took: float | None

    @property
    def is_told(self) -> bool:
        """Whether the kiln is too slow for the rate, or goes at full power unlike the other."""
        if self.asked is not None:
            return self.reached < self.asked * (1 - TOLD_SLOWER)
        return self.took is not None and abs(self.takes - self.took) > TOLD_APART


@dataclass(frozen=True)
class HeatWorks:
    """Heat works by which a translation is judged, 1/Pa, in the glass.

    Attributes
    ----------
    wanted : of the schedule in the kiln that it comes from
    unshifted : of the same numbers keyed in the other kiln
    hold_as_written : of the translated schedule before its hold is made to fit
    translated : of the translated schedule
    """

    wanted: float
    unshifted: float
    hold_as_written: float
    translated: float

    @property
    def unshifted_ratio(self) -> float:
        return self.unshifted / self.wanted

    @property
    def ratio(self) -> float:
        return self.translated / self.wanted

    @property
    def ratio_off(self) -> float:
        """How far the ratio lies from 1, without its sign."""
        return abs(self.ratio - 1)


@dataclass(frozen=True)
class Translation:
    """A schedule as it is to be keyed in another kiln.

    Attributes
    ----------
    segments : in the unit and the steps of the other controller
    unit : "C" or "F", of that controller
    top_shift : °C that the top moves, before rounding
    soak_shift : °C that the anneal soak moves; None where nothing is known near it, and it stays
    hold_change : s that the hold at the top is longer, to make the heat work equal
    peak_fit : °C that the top is keyed lower still, as a negative number, where hardly any hold
        would be left to make the heat work equal
    heat_works : None where heat work says nothing (an anneal, metal clay), or a kiln does not reach
        the schedule's targets
    offered : the ways to make it fit a controller that takes fewer segments
    merging : the one that was taken
    fits : whether the controller takes all segments
    before, after : the curves in the two kilns, by their displays
    ramps : one for each segment that the other kiln finishes and that moves
    """

    segments: tuple[TranslatedSegment, ...]
    unit: str
    top_shift: float
    soak_shift: float | None
    hold_change: float
    peak_fit: float
    heat_works: HeatWorks | None
    offered: tuple[Merging, ...]
    merging: Merging | None
    fits: bool
    before: Curve
    after: Curve
    ramps: tuple[Ramp, ...]

    @property
    def written(self) -> list[WrittenSegment]:
        return [each.written for each in self.segments]

    @cached_property
    def core(self) -> list[Segment]:
        """In °C/h, °C of the other kiln's display, and s."""
        return to_core(self.written, self.unit)

    @property
    def later(self) -> float | None:
        """s by which it is cool enough to open later; None where a kiln does not get so far."""
        before, after = self.before.cool_to(COOLED), self.after.cool_to(COOLED)
        return None if before is None or after is None else after - before
