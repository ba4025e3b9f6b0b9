"""When a kiln will be cool enough to open, as far as its recordings tell how sure that is."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from schedules.core_inputs import OPENING_C
from schedules.services.curve import Curve
from schedules.services.predicting import predict_time


@dataclass(frozen=True)
class OpeningRange:
    """Between which moments nine of ten firings are cool enough to open."""

    earliest: datetime
    latest: datetime


def opening_range(curve: Curve, start: datetime | None) -> OpeningRange | None:
    """None without a start, for a response that was not learnt, and where it never gets there."""
    if start is None or curve.response.covariance is None:
        return None
    seen = predict_time(curve.segments, curve.response, OPENING_C, curve.start)
    if seen is None:
        return None
    earliest, latest = (start + timedelta(seconds=each) for each in (seen.earliest, seen.latest))
    return OpeningRange(earliest, latest)
