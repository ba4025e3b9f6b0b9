import pytest

from schedules.services.anneal_plan import StageRule, cooling_stages, soak_length
from schedules.services.anneal_thickness import anneal_thickness
from schedules.services.annealing import residual_stress, stress_over
from schedules.services.passing_stress import DESIGN_STRENGTH, steady_rate_limits
from schedules.services.stress import steady_tension
from studio.services.glass import Glass

FLOAT = Glass()
CRYSTAL = Glass(408.0, 440.0, 582.0, expansion=104e-7)


def annealed(thickness, glass, soak, hold):
    """A fall to the soak, its hold, and the three stages."""
    times, temperatures = [0.0, 600.0], [soak + 250.0, soak + 250.0]
    for end, seconds in (
        (soak, 250.0 / 300.0 * 3600.0),
        (soak, hold),
        *((s.end, s.duration) for s in cooling_stages(thickness, glass, soak)),
    ):
        times.append(times[-1] + seconds)
        temperatures.append(end)
    return times, temperatures


@pytest.mark.parametrize(("glass", "soak"), [(FLOAT, 548.0), (CRYSTAL, 430.0)])
@pytest.mark.parametrize("thickness", [0.006, 0.012, 0.025, 0.05])
def test_anneal_by_thickness_leaves_what_its_difference_says(glass, soak, thickness):
    hold = soak_length(thickness, glass, soak).needed
    left = residual_stress(*annealed(thickness, glass, soak, hold), thickness, glass)
    assert left < 1.1 * steady_tension(3.1, glass)


@pytest.mark.parametrize("thickness", [0.012, 0.025, 0.05])
def test_passing_tension_of_the_three_stages_stays_within_the_design_strength(thickness):
    hold = soak_length(thickness, FLOAT, 548.0).needed
    over = stress_over(*annealed(thickness, FLOAT, 548.0, hold), thickness, FLOAT)
    assert over.stress.tension.max() < DESIGN_STRENGTH


def test_soak_too_cool_for_the_glass_takes_far_longer():
    assert soak_length(0.006, FLOAT, 470.0).relaxing > 8 * soak_length(0.006, FLOAT, 500.0).relaxing


def test_slab_that_arrives_even_soaks_by_practice_alone():
    soak = soak_length(0.006, FLOAT, 548.0, arrival_rate=10.0)
    assert (soak.evening, soak.relaxing) == (0.0, 0.0)
    assert soak.needed == soak.practice == pytest.approx(3402, abs=1)


def test_first_stage_goes_far_enough_below_the_strain_point():
    [first, *_] = cooling_stages(0.012, FLOAT, 548.0)
    assert first.end == FLOAT.strain_point - 45.0
    [first, *_] = cooling_stages(0.012, FLOAT, 515.0)
    assert first.end == 515.0 - 55.0


def test_stages_that_would_end_below_the_room_are_refused():
    with pytest.raises(ValueError, match="second stage"):
        cooling_stages(0.012, FLOAT, 548.0, rule=StageRule(second_drop=460.0))


@pytest.mark.parametrize("faces", [1, 2])
def test_passing_tension_reaches_the_strength_at_the_limiting_rates(faces):
    limits = steady_rate_limits(0.02, FLOAT, faces)
    hours = 250.0 / limits.cooling
    down = stress_over([0.0, 3600.0 * hours], [300.0, 50.0], 0.02, FLOAT, faces)
    assert down.stress.tension[-1] == pytest.approx(DESIGN_STRENGTH, rel=0.02)
    hours = 330.0 / limits.heating
    up = stress_over([0.0, 3600.0 * hours], [20.0, 350.0], 0.02, FLOAT, faces)
    if faces == 2:  # from one face the steady state is not reached within 330 °C
        assert up.stress.tension[-1] == pytest.approx(DESIGN_STRENGTH, rel=0.03)
    assert up.stress.tension.max() < 1.03 * DESIGN_STRENGTH


def test_no_strength_no_limit():
    with pytest.raises(ValueError, match="strength"):
        steady_rate_limits(0.02, FLOAT, strength=0.0)


@pytest.mark.parametrize(
    ("process", "sharp", "factor"),
    [
        ("contour_fuse", False, 1.5),
        ("tack_fuse", False, 2.0),
        ("tack_fuse", True, 2.5),
        ("full_fuse", False, 1.0),
    ],
)
def test_factor_of_an_uneven_piece(process, sharp, factor):
    uneven = anneal_thickness(0.009, 0.006, process, sharp=sharp)
    assert uneven.by_factor == pytest.approx(factor * 0.009)
    assert uneven.by_difference == pytest.approx(0.012)
    assert uneven.cautious == max(uneven.by_factor, uneven.by_difference)


def test_piece_that_nearly_fills_the_chamber_counts_as_thicker():
    assert anneal_thickness(0.006, 0.006, "full_fuse", share_of_chamber=0.9).wide is False
    wide = anneal_thickness(0.006, 0.006, "full_fuse", share_of_chamber=0.95)
    assert wide.wide
    assert wide.cautious == pytest.approx(0.0072)


@pytest.mark.parametrize(("thickest", "thinnest"), [(0.006, 0.009), (0.006, 0.0)])
def test_thicknesses_are_in_order(thickest, thinnest):
    with pytest.raises(ValueError, match="thinnest"):
        anneal_thickness(thickest, thinnest, "full_fuse")
