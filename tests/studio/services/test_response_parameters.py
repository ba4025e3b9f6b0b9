import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.kiln_response import KilnResponse
from studio.services.response_parameters import (
    NEAREST_LIMIT,
    heating_time_constant,
    parameters,
    with_parameters,
)

KILN = KilnResponse(1100.0, 7200.0, 9000.0, slow_cooling_time_constant=18000.0)


def test_parameters_are_rise_limit_and_both_constants() -> None:
    # (1100 − 700) / 2 h
    assert parameters(KILN).tolist() == [200.0, 1100.0, 9000.0, 18000.0]


@given(
    limit=st.floats(730.0, 2000.0),
    heating=st.floats(600.0, 60000.0),
    cooling=st.floats(600.0, 60000.0),
    slower=st.floats(1.0, 5.0),
)
def test_parameters_there_and_back_change_nothing(
    limit: float, heating: float, cooling: float, slower: float
) -> None:
    kiln = KilnResponse(limit, heating, cooling, slow_cooling_time_constant=cooling * slower)
    again = with_parameters(kiln, parameters(kiln).tolist())
    assert again.heating_time_constant == pytest.approx(heating)
    assert (again.full_power_limit, again.cooling_time_constant) == (limit, cooling)
    assert again.slow_cooling_time_constant == kiln.slow_cooling_time_constant


def test_a_single_cooling_constant_stays_single() -> None:
    single = KilnResponse(1100.0, 7200.0, 9000.0)
    moved = with_parameters(single, [200.0, 1100.0, 8000.0, 20000.0])
    assert (moved.cooling_time_constant, moved.slow_cooling_time_constant) == (8000.0, None)


def test_room_split_and_covariance_are_kept() -> None:
    kiln = KilnResponse(
        1100.0, 7200.0, 9000.0, 12.0, slow_cooling_below=300.0, covariance=np.eye(4)
    )
    moved = with_parameters(kiln, [150.0, 1000.0, 8000.0, 8000.0])
    assert (moved.ambient, moved.slow_cooling_below) == (12.0, 300.0)
    assert moved.covariance is kiln.covariance


@pytest.mark.parametrize(
    "values",
    [
        [-50.0, 1100.0, 9000.0, 18000.0],
        [200.0, 400.0, 9000.0, 18000.0],
        [200.0, 1100.0, -1.0, -1.0],
        [200.0, 1100.0, 20000.0, 9000.0],
    ],
)
def test_what_no_kiln_can_be_becomes_one_that_can(values: list[float]) -> None:
    moved = with_parameters(KILN, values)
    assert moved.rise_at(700.0) > 0
    assert moved.full_power_limit >= 700.0 + NEAREST_LIMIT
    assert moved.slow_cooling_time_constant >= moved.cooling_time_constant > 0


def test_heating_constant_belongs_to_the_rise_that_it_gives() -> None:
    assert KilnResponse(980.0, heating_time_constant(140.0, 980.0), 9000.0).rise_at(
        700.0
    ) == pytest.approx(140.0)
