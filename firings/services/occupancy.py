"""Who holds a kiln when: spans of time, what overlaps, and when it is free again.

A kiln is taken from the start of a firing until it is cool enough to be opened, not until its
program ends (common practice, no source). Moments are aware datetimes; a span without an end lasts
until somebody says that it is over.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta


@dataclass(frozen=True, slots=True)
class Span:
    """A kiln is taken from `starts` up to, and not including, `ends`.

    Parameters
    ----------
    starts : aware datetime
    ends : aware datetime, or None while nobody knows
    key : which firing it is; None where it is none

    Raises
    ------
    ValueError
        Where it ends before it starts, or a moment has no time zone.

    Examples
    --------
    >>> nine = datetime(2026, 3, 8, 9, tzinfo=UTC)
    >>> night = Span(nine, nine + timedelta(hours=15), key=1)
    >>> night.overlaps(Span(nine + timedelta(hours=15), None))
    False
    >>> night.overlaps(Span(nine + timedelta(hours=14), None))
    True
    """

    starts: datetime
    ends: datetime | None
    key: int | None = None

    def __post_init__(self) -> None:
        if self.starts.tzinfo is None or (self.ends is not None and self.ends.tzinfo is None):
            raise ValueError("a span's moments have a time zone")
        # Counted in UTC: within one zone Python compares what the clock shows, not what passed.
        starts = self.starts.astimezone(UTC)
        ends = None if self.ends is None else self.ends.astimezone(UTC)
        if ends is not None and ends < starts:
            raise ValueError("a span ends before it starts")
        object.__setattr__(self, "starts", starts)
        object.__setattr__(self, "ends", ends)

    def overlaps(self, other: "Span") -> bool:
        """Whether both hold the kiln at one moment; one may begin when the other ends."""
        return _before(self.starts, other.ends) and _before(other.starts, self.ends)


def first_overlap(wanted: Span, taken: Iterable[Span]) -> Span | None:
    """The earliest of the spans taken that overlaps what is wanted, or None.

    >>> nine = datetime(2026, 3, 8, 9, tzinfo=UTC)
    >>> hour = timedelta(hours=1)
    >>> taken = [Span(nine + 3 * hour, None, 2), Span(nine + hour, nine + 2 * hour, 1)]
    >>> first_overlap(Span(nine, nine + 4 * hour), taken).key
    1
    >>> first_overlap(Span(nine, nine + hour), taken) is None
    True
    """
    found = [span for span in taken if span.overlaps(wanted)]
    return min(found, key=lambda span: span.starts, default=None)


def next_free(length: timedelta, earliest: datetime, taken: Iterable[Span]) -> datetime | None:
    """The first moment from `earliest` on at which a kiln is free for `length`.

    Parameters
    ----------
    length : how long it is to be taken, above zero
    earliest : aware datetime
    taken : spans in any order, which may overlap each other

    Returns
    -------
    aware datetime in UTC, or None where a span without an end leaves no room before it.

    Raises
    ------
    ValueError
        Where the length is not above zero.

    Examples
    --------
    >>> nine = datetime(2026, 3, 8, 9, tzinfo=UTC)
    >>> hour = timedelta(hours=1)
    >>> taken = [Span(nine, nine + 2 * hour), Span(nine + 5 * hour, nine + 6 * hour)]
    >>> next_free(3 * hour, nine, taken).hour, next_free(4 * hour, nine, taken).hour
    (11, 15)
    """
    if length <= timedelta(0):
        raise ValueError("a kiln is taken for more than no time")
    start = earliest.astimezone(UTC)
    for span in sorted(taken, key=lambda each: each.starts):
        if not span.overlaps(Span(start, start + length)):
            continue
        if span.ends is None:
            return None
        start = span.ends
    return start


def overlapping(spans: Iterable[Span]) -> frozenset[int]:
    """The keys of all spans of one kiln that overlap another of them.

    >>> nine = datetime(2026, 3, 8, 9, tzinfo=UTC)
    >>> hour = timedelta(hours=1)
    >>> kept = [Span(nine, nine + 3 * hour, 1), Span(nine + hour, nine + 2 * hour, 2)]
    >>> sorted(overlapping([*kept, Span(nine + 3 * hour, None, 3)]))
    [1, 2]
    """
    found: set[int] = set()
    longest: Span | None = None
    for span in sorted(spans, key=lambda each: each.starts):
        if longest is not None and longest.overlaps(span):
            found.update(key for key in (longest.key, span.key) if key is not None)
        if longest is None or not _before(span.ends or _NEVER, longest.ends):
            longest = span
    return frozenset(found)


_NEVER = datetime.max.replace(tzinfo=UTC)


def _before(moment: datetime, end: datetime | None) -> bool:
    return end is None or moment < end
