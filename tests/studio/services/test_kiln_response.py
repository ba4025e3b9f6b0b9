from math import exp, inf, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1100.0, 7200.0, 10800.0)
TWO_FALLS = KilnResponse(
    1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0, slow_cooling_below=370.0
)


def test_rise_falls_to_nothing_at_the_limit():
    # (1100 − 700) / 2 h
    assert KILN.rise_at(700.0) == 200.0
    assert KILN.rise_at([1100.0, 20.0]).tolist() == [0.0, 540.0]


def test_fall_takes_the_slow_constant_at_and_below_the_split():
    # (370 − 20) / 6 h, and above the split (371 − 20) / 3 h
    assert TWO_FALLS.fall_at([370.0, 371.0]) == pytest.approx([350 / 6, 117.0])
    assert KILN.fall_at(370.0) == pytest.approx(350 / 3)


def test_two_falls_follow_one_another():
    # From 720 to 370: 3 h × ln(700/350); then a slow constant brings 350 down to 350/e.
    turn = 10800.0 * log(2.0)
    assert TWO_FALLS.cooled(720.0, turn) == pytest.approx(370.0)
    assert TWO_FALLS.cooled(720.0, turn + 21600.0) == pytest.approx(20.0 + 350.0 * exp(-1))
    assert TWO_FALLS.cooling_time(720.0, 20.0 + 350.0 * exp(-1)) == pytest.approx(turn + 21600.0)


def test_what_is_never_reached_takes_for_ever():
    assert KILN.heating_time(20.0, 1100.0) == inf
    assert KILN.cooling_time(500.0, 20.0) == inf
    assert not KILN.reaches(1099.5)
    assert not KILN.reaches(20.9)
    assert KILN.reaches(1098.9)


def test_wrong_way_is_refused():
    with pytest.raises(ValueError, match="doesn't heat"):
        KILN.heating_time(500.0, 400.0)
    with pytest.raises(ValueError, match="doesn't cool"):
        KILN.cooling_time(400.0, 500.0)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"full_power_limit": 20.0}, "limit"),
        ({"full_power_limit": inf}, "limit"),
        ({"ambient": float("nan")}, "limit"),
        ({"heating_time_constant": 0.0}, "heating_time_constant"),
        ({"cooling_time_constant": -1.0}, "cooling_time_constant"),
        ({"slow_cooling_time_constant": 3600.0}, "slow"),
        ({"slow_cooling_time_constant": 2e4, "slow_cooling_below": 10.0}, "above the room"),
    ],
)
def test_impossible_kiln_is_refused(changes, word):
    usual = {
        "full_power_limit": 1100.0,
        "heating_time_constant": 7200.0,
        "cooling_time_constant": 10800.0,
    }
    with pytest.raises(ValueError, match=word):
        KilnResponse(**usual | changes)


def test_covariance_leaves_equality_and_hash_alone():
    learnt = KilnResponse(1100.0, 7200.0, 10800.0, covariance=np.eye(2))
    assert learnt == KILN
    assert hash(learnt) == hash(KILN)


@given(st.floats(25.0, 900.0), st.floats(25.0, 900.0))
def test_time_and_temperature_are_each_other_s_inverse(one, other):
    low, high = sorted((one, other))
    assert KILN.heated(low, KILN.heating_time(low, high)) == pytest.approx(high, abs=1e-8)
    seconds = TWO_FALLS.cooling_time(high, low)
    assert TWO_FALLS.cooled(high, seconds) == pytest.approx(low, abs=1e-8)
    assert TWO_FALLS.cooled(high, [seconds]).tolist() == pytest.approx([low], abs=1e-8)


@given(st.floats(100.0, 900.0), st.floats(0.0, 50000.0), st.floats(0.0, 50000.0))
def test_cooling_in_two_steps_is_cooling_in_one(start, first, then):
    halfway = TWO_FALLS.cooled(start, first)
    assert TWO_FALLS.cooled(halfway, then) == pytest.approx(
        TWO_FALLS.cooled(start, first + then), abs=1e-8
    )
