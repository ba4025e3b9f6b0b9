"""When a kiln will be cool enough to open, and how sure its recordings make that."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from schedules.core_inputs import OPENING_C
from schedules.services.curve import Curve
from schedules.services.predicting import predict_time


@dataclass(frozen=True)
class Opening:
    """When a kiln's display will be at `opening_c`: s from the start, and moments where that is
    known.

    Nine of ten firings get there between the earliest and the latest; both are None where the
    response is by keyed figures, whose doubt nobody measured.
    """

    after_s: float
    earliest_s: float | None
    latest_s: float | None
    starts_at: datetime | None
    opening_c: float = OPENING_C

    @property
    def is_learnt(self) -> bool:
        return self.earliest_s is not None

    @property
    def at(self) -> datetime | None:
        return self._moment(self.after_s)

    @property
    def earliest_at(self) -> datetime | None:
        return self._moment(self.earliest_s)

    @property
    def latest_at(self) -> datetime | None:
        return self._moment(self.latest_s)

    @property
    def surely_after_s(self) -> float:
        """By then nine of ten firings are cool enough; where nobody knows the range, the time that
        is expected."""
        return self.after_s if self.latest_s is None else self.latest_s

    @property
    def surely_at(self) -> datetime | None:
        return self._moment(self.surely_after_s)

    def _moment(self, seconds: float | None) -> datetime | None:
        if self.starts_at is None or seconds is None:
            return None
        return self.starts_at + timedelta(seconds=seconds)


def opening_of(curve: Curve, starts_at: datetime | None = None) -> Opening | None:
    """None where the kiln does not reach a target, or never cools so far."""
    after_s = curve.cool_to(OPENING_C)
    if after_s is None:
        return None
    seen = None
    if curve.response.covariance is not None:
        seen = predict_time(curve.segments, curve.response, OPENING_C, curve.start)
    return Opening(
        after_s=after_s,
        earliest_s=None if seen is None else seen.earliest,
        latest_s=None if seen is None else seen.latest,
        starts_at=starts_at,
    )


def latest_start(opening: Opening, ready_by: datetime) -> datetime:
    """When it must be started to be cool enough in time, even where it takes as long as nine of ten
    do: a whole minute, counted in hours that pass, also where the clocks change."""
    start = ready_by.astimezone(UTC) - timedelta(seconds=opening.surely_after_s)
    return start.replace(second=0, microsecond=0)
