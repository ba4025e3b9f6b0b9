"""How cool a piece must be before its kiln is opened."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedules.services.conduction import slab_temperatures
from schedules.services.opening import (
    HOTTEST_OPENING,
    face_stress_share,
    opening_limit,
    opening_stress,
    surface_coefficient,
)
from schedules.services.passing_stress import DESIGN_STRENGTH
from schedules.services.stress import biaxial_modulus, slab_stress
from studio.services.glass import Glass

GLASS = Glass()
thicknesses = st.floats(0.002, 0.3)


@pytest.mark.parametrize(
    ("temperature", "thickness", "faces"), [(150, 0.025, 1), (90, 0.1, 1), (120, 0.05, 2)]
)
def test_series_agrees_with_the_stress_solver(temperature, thickness, faces):
    # The same slab by finite volumes and Maxwell's equation, rigid so far below its strain point.
    times = np.concatenate([[0.0, 0.0], np.geomspace(1.0, 20_000.0, 2000)])
    air = np.concatenate([[float(temperature)], np.full(2001, 20.0)])
    slab = slab_temperatures(
        times, air, thickness, GLASS, faces, surface_coefficient=surface_coefficient(temperature)
    )
    face = slab_stress(slab, GLASS).stresses[:, -1].max()
    assert opening_stress(temperature, thickness, GLASS, faces) == pytest.approx(face, rel=0.01)


def test_thin_and_thick_slabs_come_to_the_known_ends():
    assert face_stress_share(1e-3) == pytest.approx(1e-3 / 3, rel=0.01)
    # Of a face that is at the room's temperature at once, all; 40 terms of the series give 0.95.
    assert 0.9 < face_stress_share(1e6) <= 1.0


@settings(deadline=None)
@given(st.floats(1e-3, 50.0))
def test_share_rises_with_the_biot_number(biot):
    assert 0 < face_stress_share(biot) < face_stress_share(1.2 * biot) < 1


@settings(deadline=None)
@given(thicknesses)
def test_at_its_limit_a_piece_bears_what_it_may(thickness):
    limit = opening_limit(thickness, GLASS)
    stress = opening_stress(limit.temperature, thickness, GLASS)
    if limit.by_practice:
        assert limit.temperature == HOTTEST_OPENING
        assert stress <= DESIGN_STRENGTH
    else:
        assert stress == pytest.approx(DESIGN_STRENGTH, rel=1e-3)


@settings(deadline=None)
@given(thicknesses)
def test_thicker_piece_is_opened_no_hotter(thickness):
    thin, thick = (opening_limit(each, GLASS).temperature for each in (thickness, 1.1 * thickness))
    assert 20.0 < thick <= thin <= HOTTEST_OPENING


def test_two_faces_are_as_half_the_thickness():
    assert opening_limit(0.1, GLASS, faces=2) == opening_limit(0.05, GLASS)


def test_warm_room_lets_it_be_opened_hotter():
    assert opening_limit(0.1, GLASS, room=35.0).temperature > opening_limit(0.1, GLASS).temperature
    assert opening_stress(20.0, 0.1, GLASS, room=30.0) == 0.0


def test_stress_of_a_face_cooled_at_once_is_the_bound():
    assert opening_stress(120.0, 5.0, GLASS) < biaxial_modulus(GLASS) * GLASS.expansion * 100.0


@pytest.mark.parametrize(("thickness", "strength"), [(0.0, 1e6), (0.01, 0.0), (0.01, -1.0)])
def test_what_is_no_piece_or_no_strength_is_refused(thickness, strength):
    with pytest.raises(ValueError, match="above 0"):
        opening_limit(thickness, GLASS, strength=strength)
