"""What is taken for the points of a glass that are not known."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studio.services.estimated_glass import estimated_glass
from studio.services.glass import Glass


def test_known_glass_is_left_as_it_is():
    found = estimated_glass(493.0, 532.0, 677.0, anneal_soak=482.0, expansion=9e-6)
    assert found.glass == Glass(493.0, 532.0, 677.0, expansion=9e-6)
    assert (found.taken_from, found.assumed) == ("", {})


@pytest.mark.parametrize(
    ("known", "taken_from", "points"),
    [
        ({"annealing_point": 548.0}, "annealing_point", (511.0, 548.0, 723.0)),
        ({"annealing_point": 532.0, "softening_point": 677.0}, "annealing_point", (495, 532, 677)),
        ({"strain_point": 493.0, "annealing_point": 532.0}, "annealing_point", (493, 532, 707)),
        ({"strain_point": 493.0}, "strain_point", (493.0, 530.0, 705.0)),
        ({"softening_point": 715.0}, "softening_point", (503.0, 540.0, 715.0)),
        (
            {"strain_point": 500.0, "softening_point": 712.0},
            "strain_and_softening",
            (500, 537, 712),
        ),
        ({"anneal_soak": 430.0}, "anneal_soak", (403.0, 440.0, 615.0)),
        ({}, "soda_lime", (511.0, 548.0, 715.0)),
    ],
)
def test_unknown_points_follow_from_the_known(known, taken_from, points):
    found = estimated_glass(**known)
    glass = found.glass
    assert found.taken_from == taken_from
    assert (glass.strain_point, glass.annealing_point, glass.softening_point) == pytest.approx(
        points
    )
    assert set(found.assumed) == {"strain_point", "annealing_point", "softening_point"} - set(known)


def test_soak_tells_nothing_where_a_point_is_known():
    with_soak = estimated_glass(annealing_point=532.0, anneal_soak=482.0)
    assert with_soak == estimated_glass(annealing_point=532.0)


def test_expansion_is_kept_where_all_points_are_unknown():
    assert estimated_glass(expansion=10.4e-6).glass == Glass(expansion=10.4e-6)


@settings(deadline=None)
@given(st.floats(250.0, 800.0), st.floats(10.0, 300.0))
def test_any_two_points_in_order_make_a_glass(strain, above):
    found = estimated_glass(strain_point=strain, softening_point=strain + above)
    assert found.glass.strain_point < found.glass.annealing_point < found.glass.softening_point


def test_points_out_of_order_are_refused():
    with pytest.raises(ValueError, match="rise in this order"):
        estimated_glass(strain_point=600.0, softening_point=500.0)
