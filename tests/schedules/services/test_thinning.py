import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.services.thinning import thinned


def test_peak_dip_and_both_ends_are_kept() -> None:
    times = np.arange(100_000.0)
    temperatures = np.sin(times / 9000) * 300 + 400
    temperatures[41_234], temperatures[77_777] = 1111.0, -5.0
    few, thin = thinned(times, temperatures, 400)
    assert few.size <= 400
    assert {1111.0, -5.0} <= set(thin)
    assert (few[0], few[-1]) == (0.0, 99_999.0)


def test_short_series_is_left_alone() -> None:
    times = np.arange(400.0)
    few, thin = thinned(times, times, 400)
    assert few is times
    assert thin is times


def test_gap_of_one_reading_still_breaks_the_line() -> None:
    times = np.arange(50_000.0)
    temperatures = times / 100
    temperatures[12_345] = np.nan
    few, thin = thinned(times, temperatures, 300)
    assert few.size <= 300
    assert np.count_nonzero(np.isnan(thin)) == 1
    assert few[np.isnan(thin)] == 12_345.0


def test_nothing_but_gaps_stays_nothing() -> None:
    times = np.arange(1000.0)
    _, thin = thinned(times, np.full(1000, np.nan), 50)
    assert np.isnan(thin).all()


def test_too_few_points_are_refused() -> None:
    with pytest.raises(ValueError, match="8 points"):
        thinned(np.arange(100.0), np.arange(100.0), 7)


@given(
    st.integers(9, 3000),
    st.integers(8, 200),
    st.lists(st.floats(-50, 1300), min_size=1, max_size=20),
    st.lists(st.integers(0, 2999), max_size=5),
)
def test_extremes_order_and_gaps_survive(
    size: int, most: int, pattern: list[float], holes: list[int]
) -> None:
    times = np.arange(float(size))
    temperatures = np.resize(np.array(pattern), size) + np.sin(times)
    temperatures[[hole for hole in holes if hole < size]] = np.nan
    few, thin = thinned(times, temperatures, most)
    assert few.size <= max(most, 8)
    assert np.all(np.diff(few) > 0)
    assert np.array_equal(thin, temperatures[few.astype(int)], equal_nan=True)
    assert bool(np.isnan(thin).any()) == bool(np.isnan(temperatures).any())
    if not np.isnan(temperatures).all():
        assert np.nanmax(thin) == np.nanmax(temperatures)
        assert np.nanmin(thin) == np.nanmin(temperatures)
