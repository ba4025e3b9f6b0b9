"""Stress in a slab against the theory of an elastic plate and of a Maxwell body."""

from math import exp

import numpy as np
import pytest

from schedules.services.annealing import residual_stress, stress_over
from schedules.services.conduction import (
    SlabTemperatures,
    steady_difference,
    thickness_weights,
)
from schedules.services.opening import face_stress_share
from schedules.services.stress import (
    biaxial_modulus,
    maxwell_time,
    plane_relaxation_time,
    shear_modulus,
    slab_stress,
    steady_tension,
)
from studio.services.glass import Glass

GLASS = Glass()
# The maker of a fusing glass gives 9e-6/K; the EN 572 set has E 70 GPa (read), with ν 0.22.
FUSING = Glass(493.0, 532.0, 677.0, expansion=9e-6, young=70e9, poisson=0.22)


def steady_cooling(rate, thickness, glass, faces, *, start=620.0, end=300.0):
    """Times and temperatures from a hold well above the annealing range to room temperature."""
    down = (start - end) / rate * 3600.0
    return [0.0, 600.0, 600.0 + down, 86400.0 + down], [start, start, end, end - 100.0]


@pytest.mark.parametrize(("log10_viscosity", "seconds"), [(12.0, 33.3), (13.5, 1054.0)])
def test_maxwell_times(log10_viscosity, seconds):
    # η/G with G 30 GPa (float data sheet, read): computed.
    glass = Glass(young=2 * 30e9 * 1.23)
    assert shear_modulus(glass) == pytest.approx(30e9)
    point = {12.0: glass.annealing_point, 13.5: glass.strain_point}[log10_viscosity]
    assert maxwell_time(point, glass) == pytest.approx(seconds, rel=2e-3)


def test_data_sheet_s_shear_modulus_fits_its_young_s():
    # E 72 GPa, ν 0.23, G 30 GPa on one sheet (read): rounded there to 5 GPa or so.
    assert shear_modulus(GLASS) == pytest.approx(30e9, rel=0.03)


@pytest.mark.parametrize(("faces", "tension"), [(2, 0.17e6), (1, 0.70e6)])
def test_stress_that_a_makers_first_cooling_leaves(faces, tension):
    # A 90-expansion fusing glass maker's chart, 25 mm at 15 °C/h, κ 5e-7, E 70 GPa, α 9e-6,
    # ν 0.22: 0.17 MPa in the middle from both faces, 0.70 from one (computed from the formula).
    glass = Glass(493.0, 532.0, 677.0, 9e-6, 70e9, 0.22, conductivity=5e-7 * 2530.0 * 880.0)
    expected = steady_tension(steady_difference(15.0, 0.025, glass, faces), glass)
    assert expected == pytest.approx(tension, abs=0.006e6)
    times, temperatures = steady_cooling(15.0, 0.025, glass, faces)
    assert residual_stress(times, temperatures, 0.025, glass, faces) == pytest.approx(
        expected, rel=0.01
    )


@pytest.mark.parametrize("glass", [GLASS, FUSING])
@pytest.mark.parametrize("thickness", [0.006, 0.025])
@pytest.mark.parametrize("faces", [1, 2])
def test_steady_cooling_leaves_tension_in_the_middle_and_twice_that_as_compression(
    glass, thickness, faces
):
    # E α ΔT/(3(1−ν)) in the middle, minus twice that at the face (standard theory).
    rate = 60.0 if faces == 2 else 15.0
    times, temperatures = steady_cooling(rate, thickness, glass, faces)
    left = stress_over(times, temperatures, thickness, glass, faces).stress.residual
    expected = steady_tension(steady_difference(rate, thickness, glass, faces), glass)
    assert left[0] == pytest.approx(expected, rel=0.01)
    assert left[-1] == pytest.approx(-2 * expected, rel=0.01)


def test_forces_through_the_thickness_balance():
    rng = np.random.default_rng(3)
    times = np.cumsum(rng.uniform(0.0, 1800.0, 40))
    temperatures = rng.uniform(20.0, 820.0, 40)
    stress = stress_over(times, temperatures, 0.025, GLASS).stress
    weights = thickness_weights(stress.depths.size)
    greatest = np.abs(stress.stresses).max()
    assert greatest > 1e6
    assert np.abs(stress.stresses @ weights).max() < 1e-6 * greatest
    assert abs(stress.residual @ weights) < 1e-6 * np.abs(stress.residual).max()


def test_elastic_slab_takes_the_stress_of_its_profile_and_loses_it_again():
    # Far below the strain point: E α (mean − T)/(1 − ν), and nothing in the end.
    rate = steady_difference(60.0, 0.012, GLASS)
    over = stress_over([0.0, 10800.0, 30000.0], [200.0, 20.0, 20.0], 0.012, GLASS)
    passing = over.stress.tension.max()
    assert passing == pytest.approx(
        2 / 3 * biaxial_modulus(GLASS) * GLASS.expansion * rate, rel=0.01
    )
    assert over.stress.residual_tension < 1e-9 * passing


@pytest.mark.parametrize("shares", [1, 4, 64])
def test_held_stress_decays_with_the_relaxation_time(shares):
    # A parabola of temperature appears at once and stays: what it makes falls to 1/e, in one step
    # or many, at the Maxwell time of a plane stretched both ways.
    depths = np.linspace(0.0, 0.005, 17)
    profile = 548.0 + 0.001 * (1 - (depths / 0.005) ** 2)
    rows = np.vstack([np.full(17, 548.0), *[profile] * (shares + 1)])
    tau = float(plane_relaxation_time(548.0, GLASS))
    times = np.concatenate([[0.0], np.linspace(0.0, tau, shares + 1)])
    stress = slab_stress(SlabTemperatures(times, depths, rows), GLASS).stresses
    assert stress[-1] == pytest.approx(stress[1] * np.exp(-1.0), rel=1e-3)


def test_quenched_and_even_firings_bound_what_is_left():
    hot = [0.0, 3600.0, 3601.0, 7200.0], [600.0, 600.0, 20.0, 20.0]
    gentle = steady_cooling(1.0, 0.006, GLASS, 2)
    assert residual_stress(*hot, 0.006, GLASS, 2) > 50e6
    assert residual_stress(*gentle, 0.006, GLASS, 2) < 1e3


@pytest.mark.parametrize("biot", [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0])
def test_face_of_a_plate_laid_open_bears_what_a_published_formula_says(biot):
    # S. S. Manson, NACA Report 1170 (1954) (memory): a plate cooled from both faces by a surface
    # coefficient; a fit, good to some 5 % in between.
    share = 1 / (1.5 + 3.25 / biot - 0.5 * exp(-16 / biot))
    assert face_stress_share(biot) == pytest.approx(share, rel=0.055)
