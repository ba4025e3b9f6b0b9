"""Whether a remark that somebody silenced is still the one that they silenced."""

from collections.abc import Iterable
from dataclasses import dataclass

from schedules.services.case import Remark, Severity

CLEARLY_WORSE = 0.1
"""Share by which a figure may lie further beyond its limit than when it was silenced."""
_WEIGHT: dict[Severity, int] = {"note": 0, "warn": 1, "block": 2}


@dataclass(frozen=True, slots=True)
class Silenced:
    """A remark as it was when somebody silenced it.

    Parameters
    ----------
    code, severity, segment, figure, limit : as in `Remark`
    """

    code: str
    severity: Severity
    segment: int | None = None
    figure: float | None = None
    limit: float | None = None


def silencing(remark: Remark, silenced: Iterable[Silenced]) -> Silenced | None:
    """What keeps a remark silent, or None where it is to be heard.

    It counts for the same code at the same segment, never for one that blocks, and only as long as
    the remark is no graver and its figure lies no more than a tenth further beyond its limit: a
    faster rate, a shorter soak or a thicker piece makes it heard again.

    Parameters
    ----------
    remark : as it is now
    silenced : what was silenced for the schedule

    Examples
    --------
    >>> then = Silenced("heating_fast", "warn", 0, 300.0, 150.0)
    >>> [silencing(Remark("heating_fast", "warn", 0, rate, 150.0), [then]) is then
    ...  for rate in (280.0, 310.0, 320.0)]
    [True, True, False]
    """
    if remark.severity == "block":
        return None
    return next((each for each in silenced if _covers(each, remark)), None)


def _covers(then: Silenced, now: Remark) -> bool:
    if (then.code, then.segment) != (now.code, now.segment):
        return False
    if _WEIGHT[now.severity] > _WEIGHT[then.severity]:
        return False
    if then.figure is None or then.limit is None or now.figure is None or now.limit is None:
        return True
    return _beyond(now.figure, now.limit) <= _beyond(then.figure, then.limit) * (1 + CLEARLY_WORSE)


def _beyond(figure: float, limit: float) -> float:
    return abs(figure - limit)
