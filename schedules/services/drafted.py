"""What a draft is made of: segments, and the reason for each of their numbers."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from schedules.services.case import Remark
from schedules.services.curve import Segment
from schedules.services.writing import SECONDS_PER_MINUTE, WrittenSegment
from studio.services.units import from_celsius, rate_from_celsius

_WRITTEN = Decimal("0.01")
"""A schedule is written with two decimals at the most; what is finer comes from conversion."""


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
    code : "peak_unknown", "peak_too_low", "rate_below_step", "too_few_segments", "fails_check", or
        "process_unknown"
    figure : what was needed, where a number says it: °C/h, °C, or a count of segments
    remarks : what the check says of the best that there is, for "fails_check"
    """

    def __init__(
        self, code: str, figure: float | None = None, remarks: Sequence[Remark] = ()
    ) -> None:
        super().__init__(code if figure is None else f"{code}: {figure:g}")
        self.code = code
        self.figure = figure
        self.remarks = tuple(remarks)


def as_written(plan: Sequence[DraftedSegment], unit: str) -> list[WrittenSegment]:
    """A draft as it is keyed and kept.

    Parameters
    ----------
    plan : drafted for a controller that shows `unit`
    unit : "C" or "F"

    Examples
    --------
    >>> none = Reason("no_hold")
    >>> as_written([DraftedSegment(100.0, 540.0, 600.0, none, none, none)], "F")
    [WrittenSegment(rate=Decimal('180'), target=Decimal('1004'), hold_minutes=Decimal('10'))]
    """
    return [
        WrittenSegment(
            None if each.rate is None else _decimal(float(rate_from_celsius(each.rate, unit))),
            _decimal(float(from_celsius(each.target, unit))),
            Decimal(round(each.hold / SECONDS_PER_MINUTE)),
        )
        for each in plan
    ]


def _decimal(value: float) -> Decimal:
    exact = Decimal(value).quantize(_WRITTEN)
    whole = exact.to_integral_value()
    return whole if exact == whole else exact.normalize()
