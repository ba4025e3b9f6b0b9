import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.glass import (
    Glass,
    fluidity,
    heat_work,
    heat_work_bounds,
    log10_viscosity,
    mean_fluidity,
)

GLASS = Glass()
NAN = float("nan")
kiln_temperatures = st.floats(0.0, 1200.0)


def test_viscosity_passes_the_fixed_points():
    assert log10_viscosity([511.0, 548.0, 715.0], GLASS) == pytest.approx([13.5, 12.0, 6.6])


def test_working_point_takes_the_place_of_the_limit():
    glass = Glass(working_point=1020.0)
    assert log10_viscosity([548.0, 715.0, 1020.0], glass) == pytest.approx([12.0, 6.6, 3.0])
    assert glass.viscosity_law.limit != GLASS.viscosity_law.limit


def test_strain_point_changes_nothing_above_the_annealing_point():
    other = Glass(strain_point=500.0)
    above = np.linspace(548.0, 900.0, 50)
    assert log10_viscosity(above, other).tolist() == log10_viscosity(above, GLASS).tolist()


def test_number_gives_float_and_nan_stays_nan():
    assert isinstance(log10_viscosity(804.0, GLASS), float)
    assert np.isnan(log10_viscosity([804.0, NAN], GLASS)).tolist() == [False, True]


def test_absolute_zero_is_refused():
    with pytest.raises(ValueError, match="absolute zero"):
        log10_viscosity(-273.15, GLASS)


@given(kiln_temperatures, st.floats(0.1, 300.0))
def test_hotter_glass_is_more_fluid(temperature, rise):
    assert log10_viscosity(temperature + rise, GLASS) < log10_viscosity(temperature, GLASS)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"strain_point": 560.0}, "order"),
        ({"softening_point": 500.0}, "order"),
        ({"strain_point": NAN}, "order"),
        ({"expansion": 0.0}, "expansion"),
        ({"density": -1.0}, "density"),
        ({"poisson": 0.5}, "Poisson"),
        ({"working_point": 700.0}, "working point"),
        ({"working_point": 760.0}, "No Vogel"),  # a law that would bend the wrong way
        ({"high_temperature_limit": 4.0}, "limit"),
    ],
)
def test_impossible_glass_is_refused(changes, word):
    with pytest.raises(ValueError, match=word):
        Glass(**changes)


def test_diffusivity_is_conductivity_over_heat_stored():
    # 0.937 / (2530 × 880)
    assert GLASS.diffusivity == pytest.approx(4.2086e-7, rel=1e-4)


def test_heat_work_of_a_hold_is_time_over_viscosity():
    # 10 minutes at the annealing point: 600 s / 10^12 Pa·s
    assert heat_work([0.0, 600.0], [548.0, 548.0], GLASS) == pytest.approx(6e-10, rel=1e-12)


def test_trapezoid_would_be_far_off_on_a_ramp():
    trapezoid = 3600.0 * (fluidity(500.0, GLASS) + fluidity(804.0, GLASS)) / 2
    assert heat_work([0.0, 3600.0], [500.0, 804.0], GLASS) < trapezoid / 5


@pytest.mark.parametrize(("times", "temperatures"), [([], []), ([0.0], [804.0])])
def test_too_few_samples_are_no_heat_work(times, temperatures):
    assert heat_work(times, temperatures, GLASS) == 0.0


def test_repeated_time_is_a_step_without_heat_work():
    level = heat_work([0.0, 600.0], [700.0, 700.0], GLASS)
    stepped = heat_work([0.0, 600.0, 600.0], [700.0, 700.0, 20.0], GLASS)
    assert stepped == pytest.approx(level, rel=1e-12)


@pytest.mark.parametrize(
    ("times", "temperatures", "word"),
    [
        ([0.0, 1.0], [20.0], "one length"),
        ([[0.0, 1.0]], [[20.0, 21.0]], "one length"),
        ([1.0, 0.0], [20.0, 21.0], "backwards"),
        ([0.0, NAN], [20.0, 21.0], "finite"),
        ([0.0, 1.0, 2.0], [20.0, NAN, 21.0], "gaps"),
    ],
)
def test_series_that_makes_no_sense_is_refused(times, temperatures, word):
    with pytest.raises(ValueError, match=word):
        heat_work(times, temperatures, GLASS)


@given(kiln_temperatures, kiln_temperatures, st.floats(0.01, 0.99))
def test_line_may_be_cut_anywhere(first, last, share):
    whole = heat_work([0.0, 1000.0], [first, last], GLASS)
    middle = first + (last - first) * share
    cut = heat_work([0.0, 1000.0 * share, 1000.0], [first, middle, last], GLASS)
    assert cut == pytest.approx(whole, rel=1e-6)


@given(st.lists(kiln_temperatures, min_size=2, max_size=30))
def test_firing_backwards_is_as_much_heat_work(temperatures):
    times = np.arange(len(temperatures)) * 60.0
    forwards = heat_work(times, temperatures, GLASS)
    assert heat_work(times, temperatures[::-1], GLASS) == pytest.approx(forwards, rel=1e-9)


@given(st.floats(400.0, 1000.0), st.floats(-0.02, 0.02))
def test_nearly_level_line_is_as_smooth_as_a_level_one(temperature, rise):
    # 0.01 °C changes the fluidity by less than 0.2 %
    [mean] = mean_fluidity([temperature, temperature + rise], GLASS)
    assert mean == pytest.approx(fluidity(temperature + rise / 2, GLASS), rel=1e-6)


def test_bounds_meet_where_nothing_is_missing():
    times, temperatures = [0.0, 600.0, 900.0], [500.0, 804.0, 780.0]
    low, high = heat_work_bounds(times, temperatures, GLASS)
    assert low == high == pytest.approx(heat_work(times, temperatures, GLASS), rel=1e-12)


def test_gap_adds_nothing_below_and_the_ceiling_above():
    times = [0.0, 600.0, 900.0, 1200.0, 1500.0]
    temperatures = [700.0, 700.0, NAN, 700.0, 700.0]
    low, high = heat_work_bounds(times, temperatures, GLASS, ceiling=760.0)
    assert low == pytest.approx(900.0 * fluidity(700.0, GLASS))
    assert high - low == pytest.approx(600.0 * fluidity(760.0, GLASS))


def test_recording_may_begin_and_end_in_a_gap():
    low, high = heat_work_bounds([0.0, 60.0, 120.0], [NAN, 700.0, NAN], GLASS)
    assert low == 0.0
    assert high == pytest.approx(120.0 * fluidity(700.0, GLASS))


def test_no_reading_at_all_needs_a_ceiling():
    with pytest.raises(ValueError, match="upper bound"):
        heat_work_bounds([0.0, 60.0], [NAN, NAN], GLASS)
    assert heat_work_bounds([0.0, 60.0], [NAN, NAN], GLASS, ceiling=804.0).low == 0.0


@given(st.lists(st.floats(300.0, 900.0), min_size=4, max_size=20), st.data())
def test_truth_lies_between_the_bounds(temperatures, data):
    times = np.arange(len(temperatures)) * 300.0
    missing = data.draw(st.integers(1, len(temperatures) - 2))
    known = np.array(temperatures)
    known[missing] = NAN
    low, high = heat_work_bounds(times, known, GLASS, ceiling=max(temperatures))
    assert low <= heat_work(times, temperatures, GLASS) * (1 + 1e-9)
    assert heat_work(times, temperatures, GLASS) <= high * (1 + 1e-9)
