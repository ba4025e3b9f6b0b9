import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedules.services.annealing import cooling_rate_limit, residual_stress, stress_over
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Glass()
KILN = KilnResponse(1100.0, 7200.0, 10800.0, slow_cooling_time_constant=24000.0)
FUSE = [
    Segment(150.0, 540.0),
    Segment(100.0, 670.0, 1800.0),
    Segment(None, 804.0, 600.0),
    Segment(None, 548.0, 3600.0),
    Segment(83.0, 466.0),
    Segment(150.0, 410.0),
    Segment(None, 60.0),
]


def fuse():
    curve = planned_curve(FUSE, KILN)
    return curve.times, curve.temperatures


@pytest.mark.parametrize("faces", [1, 2])
@pytest.mark.parametrize("thickness", [0.003, 0.006, 0.012, 0.025, 0.1])
def test_usual_grid_is_within_one_per_cent_of_a_fine_one(thickness, faces):
    usual = stress_over(*fuse(), thickness, GLASS, faces).stress.residual_tension
    fine = stress_over(*fuse(), thickness, GLASS, faces, fineness=6.0).stress.residual_tension
    assert usual == pytest.approx(fine, rel=0.01)


def test_one_face_is_half_a_slab_of_twice_the_thickness():
    assert residual_stress(*fuse(), 0.012, GLASS, faces=1) == pytest.approx(
        residual_stress(*fuse(), 0.024, GLASS, faces=2)
    )
    assert cooling_rate_limit(0.012, GLASS, faces=1) == pytest.approx(
        cooling_rate_limit(0.024, GLASS, faces=2)
    )


def test_dense_recording_of_a_firing_gives_what_its_plan_gives():
    # A reading a second, to the whole degree, with a thermocouple's noise.
    curve = planned_curve(FUSE, KILN)
    times = np.arange(0.0, curve.times[-1])
    noise = np.random.default_rng(5).normal(0.0, 0.5, times.size)
    readings = np.round(curve.at(times) + noise)
    planned = residual_stress(*fuse(), 0.012, GLASS)
    assert residual_stress(times, readings, 0.012, GLASS) == pytest.approx(planned, rel=0.02)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.005, 0.05), st.floats(1.05, 3.0))
def test_faster_first_cooling_leaves_more(thickness, times_faster):
    def left(rate):
        down = (560.0 - 450.0) / rate * 3600.0
        times = [0.0, 7200.0, 7200.0 + down, 50_000.0 + down]
        return residual_stress(times, [560.0, 560.0, 450.0, 20.0], thickness, GLASS)

    slow = cooling_rate_limit(thickness, GLASS)
    assert left(slow * times_faster) > left(slow)


def test_stress_does_not_depend_on_how_often_a_straight_line_is_sampled():
    times, temperatures = [0.0, 7200.0, 20_000.0, 90_000.0], [560.0, 560.0, 450.0, 20.0]
    often = np.linspace(0.0, 90_000.0, 181)
    assert residual_stress(
        often, np.interp(often, times, temperatures), 0.025, GLASS
    ) == pytest.approx(residual_stress(times, temperatures, 0.025, GLASS), rel=5e-3)


@pytest.mark.parametrize("thickness", [0.006, 0.025, 0.1])
def test_hold_told_by_its_ends_alone_stays_level(thickness):
    # A fall sampled closely, then a hold of which only the end is given.
    fall = np.linspace(0.0, 5400.0, 271)
    times = np.concatenate([fall, [5400.0 + 57_600.0]])
    temperatures = np.concatenate([np.interp(fall, [0.0, 5400.0], [850.0, 548.0]), [548.0]])
    over = stress_over(times, temperatures, thickness, GLASS)
    held = over.stress.times > 6000.0
    assert over.faces[held] == pytest.approx(548.0, abs=1e-6)
    assert over.differences[-1] < 1.0


def test_firing_without_change_leaves_nothing():
    assert residual_stress([0.0, 1000.0], [20.0, 20.0], 0.006, GLASS) == 0.0
    assert residual_stress([0.0], [20.0], 0.006, GLASS) == 0.0


def test_firing_that_ends_hot_has_no_stress_left_yet():
    with pytest.raises(ValueError, match="not settled"):
        residual_stress([0.0, 1000.0], [20.0, 560.0], 0.006, GLASS)


@pytest.mark.parametrize(
    ("times", "temperatures", "message"),
    [
        ([0.0, 60.0, 120.0], [20.0, float("nan"), 22.0], "without gaps"),
        ([0.0, 60.0, 50.0], [20.0, 21.0, 22.0], "backwards"),
        ([0.0, 60.0], [20.0], "one length"),
        ([], [], "one length"),
    ],
)
def test_series_that_is_none_is_refused(times, temperatures, message):
    with pytest.raises(ValueError, match=message):
        residual_stress(times, temperatures, 0.006, GLASS)


@pytest.mark.parametrize("thickness", [0.0, -0.006, float("nan"), float("inf")])
def test_thickness_is_positive(thickness):
    with pytest.raises(ValueError, match="thickness"):
        cooling_rate_limit(thickness, GLASS)


def test_other_than_one_or_two_faces_are_refused():
    with pytest.raises(ValueError, match="one face or from two"):
        cooling_rate_limit(0.006, GLASS, faces=3)


def test_difference_is_positive():
    with pytest.raises(ValueError, match="difference"):
        cooling_rate_limit(0.006, GLASS, temperature_difference=0.0)
