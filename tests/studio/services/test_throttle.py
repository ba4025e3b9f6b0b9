from datetime import datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from studio.services.throttle import Bound, Tries, one_more

NOON = datetime(2026, 3, 1, 12)
QUARTER = timedelta(minutes=15)
FIVE = Bound(most=5, wait=QUARTER)
TWENTY = Bound(most=20, wait=QUARTER, within=QUARTER)


def after(bound: Bound, *moments: datetime) -> Tries | None:
    tries: Tries | None = Tries()
    for moment in moments:
        assert tries is not None
        tries = one_more(tries, bound, moment)
    return tries


def test_the_fifth_is_let_through_and_begins_the_wait() -> None:
    assert after(FIVE, *[NOON] * 4) == Tries(4, NOON, None)
    assert after(FIVE, *[NOON] * 5) == Tries(5, NOON, NOON + QUARTER)
    assert after(FIVE, *[NOON] * 6) is None


def test_after_the_wait_it_begins_anew() -> None:
    over = NOON + QUARTER
    assert after(FIVE, *[NOON] * 5, over - timedelta(seconds=1)) is None
    assert after(FIVE, *[NOON] * 5, over) == Tries(1, over, None)


def test_old_ones_count_no_more_where_the_bound_says_so() -> None:
    later = NOON + QUARTER + timedelta(seconds=1)
    assert after(TWENTY, *[NOON] * 19, later) == Tries(1, later, None)
    assert after(FIVE, *[NOON] * 4, later) == Tries(5, NOON, later + QUARTER)


@given(st.lists(st.integers(0, 40), max_size=120))
def test_never_more_in_a_wait_than_the_bound(minutes_between: list[int]) -> None:
    """However tries are spaced, in no quarter of an hour after a wait began is one let through."""
    tries, now, locked = Tries(), NOON, None
    for minutes in minutes_between:
        now += timedelta(minutes=minutes)
        found = one_more(tries, FIVE, now)
        if locked is not None and now < locked:
            assert found is None
        if found is not None:
            assert found.wrong <= FIVE.most
            tries, locked = found, found.locked_until
