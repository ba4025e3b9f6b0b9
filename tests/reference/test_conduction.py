"""Conduction through a slab against its exact series and a textbook example."""

import numpy as np
import pytest

from schedules.services.conduction import (
    diffusion_time,
    evening_time,
    slab_temperatures,
    steady_difference,
    steady_rate,
)
from studio.services.glass import Glass

# H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids: the series for a slab (memory), summed
# (computed). At κt/a²: centre and mean of (T − Ts)/(Ti − Ts) after a sudden change of both faces.
SUDDEN = {
    0.1: (0.949305, 0.643177),
    0.2: (0.772312, 0.495912),
    0.5: (0.370777, 0.236050),
    1.0: (0.107977, 0.068740),
}
# The same series integrated: the centre's lag over R a²/2κ, with faces that move at R from 0 s on.
RAMP = {0.1: 0.197746, 0.2: 0.370386, 0.5: 0.699455, 1.0: 0.912477, 2.0: 0.992578}

GLASS = Glass()
DATA_SHEET = Glass(conductivity=1.0, density=2500.0, heat_capacity=720.0)


@pytest.mark.parametrize("fourier", SUDDEN)
@pytest.mark.parametrize("faces", [1, 2])
def test_sudden_change_of_the_face_follows_the_series(fourier, faces):
    # Within 0.1 % of the first difference.
    end = fourier * diffusion_time(0.025, GLASS, faces)
    times = np.concatenate([[0.0], np.linspace(0.0, end, 201)])
    kiln = np.concatenate([[600.0], np.full(201, 500.0)])
    slab = slab_temperatures(times, kiln, 0.025, GLASS, faces)
    centre, mean = SUDDEN[fourier]
    assert (slab.temperatures[-1, 0] - 500.0) / 100.0 == pytest.approx(centre, abs=1e-3)
    assert (slab.mean[-1] - 500.0) / 100.0 == pytest.approx(mean, abs=1e-3)


@pytest.mark.parametrize("fourier", RAMP)
@pytest.mark.parametrize("faces", [1, 2])
def test_ramp_of_the_face_follows_the_series(fourier, faces):
    end = fourier * diffusion_time(0.025, GLASS, faces)
    times = np.linspace(0.0, end, 101)
    kiln = 500.0 - 15.0 * times / 3600.0
    slab = slab_temperatures(times, kiln, 0.025, GLASS, faces)
    steady = steady_difference(15.0, 0.025, GLASS, faces)
    assert slab.difference[-1] == pytest.approx(RAMP[fourier] * steady, rel=1e-3)


def test_steady_difference_is_as_published():
    # Computed: 25 mm, 15 °C/h from both faces at κ 5e-7 m²/s: 0.65104 °C, and 4 times that from
    # one. (One face is as twice the thickness: glasstips.blogspot.com 2011/10, read.)
    glass = Glass(conductivity=5e-7 * 2530.0 * 880.0)
    assert glass.diffusivity == pytest.approx(5e-7)
    both = steady_difference(15.0, 0.025, glass, faces=2)
    assert both == pytest.approx(0.65104, abs=5e-6)
    assert steady_difference(15.0, 0.025, glass) == pytest.approx(4 * both)
    assert steady_difference(15.0, 0.050, glass, faces=2) == pytest.approx(4 * both)
    assert steady_rate(both, 0.025, glass, faces=2) == pytest.approx(15.0)


def test_steady_profile_is_the_parabola():
    # In the end (T − Ts) = ΔT (1 − x²/a²), with a mean of 2/3 ΔT (standard theory).
    times = np.linspace(0.0, 8 * diffusion_time(0.025, GLASS), 201)
    slab = slab_temperatures(times, 500.0 - 15.0 * times / 3600.0, 0.025, GLASS)
    lag = slab.temperatures[-1] - slab.temperatures[-1, -1]
    steady = steady_difference(15.0, 0.025, GLASS)
    assert lag == pytest.approx(steady * (1 - (slab.depths / 0.025) ** 2), abs=1e-3 * steady)
    assert slab.mean[-1] - slab.temperatures[-1, -1] == pytest.approx(2 / 3 * steady, rel=1e-3)


def test_wall_heated_by_a_fluid():
    # Incropera et al., Fundamentals of Heat and Mass Transfer, Example 5.4 (inputs read): a wall of
    # 40 mm, insulated behind, at −20 °C, in oil at 60 °C; after 480 s. The exact series gives
    # 43.017 °C at the insulated face and 45.364 °C at the wetted one (computed; the book's single
    # term 42.9 and 45.3). Within 0.1 % of the 80 °C between wall and oil.
    steel = Glass(expansion=18.8e-6, conductivity=63.9, density=7832.0, heat_capacity=434.0)
    times = np.concatenate([[0.0], np.linspace(0.0, 480.0, 201)])
    oil = np.concatenate([[-20.0], np.full(201, 60.0)])
    slab = slab_temperatures(times, oil, 0.04, steel, surface_coefficient=500.0)
    assert slab.temperatures[-1, [0, -1]] == pytest.approx([43.017, 45.364], abs=0.08)


def test_data_sheet_diffusivities():
    # Float data sheet and the EN 572 set (read): k, ρ, cp give 4.21e-7 and 5.56e-7 m²/s.
    assert pytest.approx(4.21e-7, rel=1e-3) == GLASS.diffusivity
    assert pytest.approx(5.56e-7, rel=1e-3) == DATA_SHEET.diffusivity


@pytest.mark.parametrize("faces", [1, 2])
def test_slab_is_even_by_the_time_that_was_said(faces):
    arrives = steady_difference(150.0, 0.025, GLASS, faces)
    evens = evening_time(arrives, 1.0, 0.025, GLASS, faces)
    ramp = 10 * diffusion_time(0.025, GLASS, faces)
    times = np.concatenate([np.linspace(0.0, ramp, 201), ramp + np.linspace(0.0, evens, 201)[1:]])
    kiln = 1000.0 - 150.0 / 3600.0 * np.minimum(times, ramp)
    slab = slab_temperatures(times, kiln, 0.025, GLASS, faces)
    assert slab.difference[200] == pytest.approx(arrives, rel=1e-3)
    # The slowest term alone is a bound, and a close one.
    assert 0.97 < slab.difference[-1] <= 1.0 + 1e-3
