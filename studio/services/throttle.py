"""How many wrong tries are let through before one has to wait."""

from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True)
class Bound:
    """`most` wrong tries, then a wait of `wait`.

    Tries older than `within` count no more; without it all count since the last right one.
    """

    most: int
    wait: timedelta
    within: timedelta | None = None


@dataclass(frozen=True)
class Tries:
    """Wrong tries so far, when the first of them was, and until when none is let through."""

    wrong: int = 0
    since: datetime | None = None
    locked_until: datetime | None = None


def one_more(tries: Tries, bound: Bound, now: datetime) -> Tries | None:
    """What stands once one more is tried, counted as wrong before it is known; None: wait.

    It is counted first so that many at once can't be more than `bound` lets through; whoever finds
    that it was right takes it back. The last one that is let through begins the wait.

    >>> bound = Bound(most=1, wait=timedelta(minutes=15))
    >>> noon = datetime(2026, 3, 1, 12)
    >>> one_more(Tries(), bound, noon).locked_until.minute
    15
    >>> one_more(one_more(Tries(), bound, noon), bound, noon) is None
    True
    """
    if tries.locked_until is not None:
        if now < tries.locked_until:
            return None
        tries = Tries()
    if bound.within is not None and tries.since is not None and now - tries.since > bound.within:
        tries = Tries()
    wrong = tries.wrong + 1
    locked_until = now + bound.wait if wrong >= bound.most else None
    return Tries(wrong, tries.since or now, locked_until)
