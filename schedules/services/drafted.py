"""What a draft is made of: segments, and the reason for each of their numbers."""

from dataclasses import dataclass

from schedules.services.curve import Segment


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a number is what it is.

    Parameters
    ----------
    code : which rule, as "practice_for_thickness"
    figure : what the rule came to before it was rounded, in °C, °C/h or s, or None
    """

    code: str
    figure: float | None = None


@dataclass(frozen=True, slots=True)
class DraftedSegment:
    """A segment in display temperatures, with the reason for each of its numbers.

    Parameters
    ----------
    rate, target, hold : as in `Segment`
    why_rate, why_target, why_hold : see `Reason`
    """

    rate: float | None
    target: float
    hold: float
    why_rate: Reason
    why_target: Reason
    why_hold: Reason

    @property
    def segment(self) -> Segment:
        """Its numbers alone."""
        return Segment(self.rate, self.target, self.hold)


class NoDraftError(ValueError):
    """There is no schedule to propose, and why.

    Attributes
    ----------
    code : "peak_unknown", "rate_below_step", "too_few_segments", "fails_check", or
        "process_unknown"
    figure : what was needed, where a number says it: °C/h, or a count of segments
    """

    def __init__(self, code: str, figure: float | None = None) -> None:
        super().__init__(code if figure is None else f"{code}: {figure:g}")
        self.code = code
        self.figure = figure
