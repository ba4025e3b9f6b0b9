from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.occupancy import Span, first_overlap, next_free, overlapping

NINE = datetime(2026, 3, 8, 9, tzinfo=UTC)
HOUR = timedelta(hours=1)


def span(begin: float, end: float | None, key: int | None = None) -> Span:
    return Span(NINE + begin * HOUR, None if end is None else NINE + end * HOUR, key)


@pytest.mark.parametrize(
    ("one", "other", "overlaps"),
    [
        ((0, 2), (2, 4), False),  # one begins when the other ends
        ((0, 2), (1.9, 4), True),
        ((0, 9), (3, 4), True),
        ((0, None), (100, 101), True),  # nobody knows when it ends
        ((5, None), (0, 5), False),
        ((5, None), (7, None), True),
    ],
)
def test_spans_overlap_where_both_hold_the_kiln(
    one: tuple[float, float | None], other: tuple[float, float | None], overlaps: bool
) -> None:
    assert span(*one).overlaps(span(*other)) is overlaps
    assert span(*other).overlaps(span(*one)) is overlaps


def test_the_earliest_overlap_is_told() -> None:
    taken = [span(6, 8, 3), span(3, 5, 2), span(0, 1, 1)]
    found = first_overlap(span(2, 7), taken)
    assert found is not None
    assert found.key == 2
    assert first_overlap(span(1, 3), taken) is None


def test_a_span_counts_hours_that_pass_where_the_clocks_change() -> None:
    """25 October 2026, Europe/Berlin: from 2:30 to 2:30 an hour passes, 3:00 to 4:00 is free."""
    zone = ZoneInfo("Europe/Berlin")
    first = datetime(2026, 10, 25, 2, 30, tzinfo=zone)
    second = first.replace(fold=1)
    assert Span(first, second).ends == Span(first, None).starts + HOUR
    with pytest.raises(ValueError, match="before it starts"):
        Span(second, first)


def test_moments_without_a_zone_are_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        Span(datetime(2026, 3, 8, 9), None)
    with pytest.raises(ValueError, match="no time"):
        next_free(timedelta(0), NINE, [])


def test_next_free_goes_around_what_is_taken() -> None:
    taken = [span(0, 2), span(5, 6), span(6.5, 9)]
    assert next_free(3 * HOUR, NINE, taken) == NINE + 2 * HOUR
    assert next_free(4 * HOUR, NINE, taken) == NINE + 9 * HOUR
    assert next_free(HOUR / 2, NINE + 5.5 * HOUR, taken) == NINE + 6 * HOUR
    assert next_free(4 * HOUR, NINE, [*taken, span(20, None)]) == NINE + 9 * HOUR
    assert next_free(40 * HOUR, NINE, [*taken, span(20, None)]) is None


hours = st.integers(0, 200)
spans = st.lists(st.tuples(hours, st.integers(1, 40)), max_size=12).map(
    lambda rows: [span(begin, begin + length, key) for key, (begin, length) in enumerate(rows)]
)


@given(taken=spans, earliest=hours, length=st.integers(1, 30))
def test_next_free_is_free_and_nothing_earlier_is(
    taken: list[Span], earliest: int, length: int
) -> None:
    found = next_free(length * HOUR, NINE + earliest * HOUR, taken)
    assert found is not None
    assert first_overlap(Span(found, found + length * HOUR), taken) is None
    start = NINE + earliest * HOUR
    while start < found:  # all begin and end on the hour, so no other start can be earlier
        assert first_overlap(Span(start, start + length * HOUR), taken) is not None
        start += HOUR


@given(taken=spans)
def test_overlapping_names_every_pair(taken: list[Span]) -> None:
    pairs = {
        key
        for one in taken
        for other in taken
        if one.key != other.key and one.overlaps(other)
        for key in (one.key, other.key)
    }
    assert overlapping(taken) == pairs


def test_one_instant_in_two_zones_is_one_instant() -> None:
    west = timezone(timedelta(hours=-5))
    assert Span(NINE.astimezone(west), None) == Span(NINE, None)
