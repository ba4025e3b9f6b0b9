"""A glass as it stands on record, with what is unknown of it."""

import pytest

from studio.core_inputs import estimated_glass_of, glass_of
from studio.models import GlassFamily
from studio.services.glass import Glass
from tests.factories import make_family, make_glass

pytestmark = pytest.mark.django_db

NO_POINTS = {
    "strain_point_c": None,
    "annealing_point_c": None,
    "softening_point_c": None,
    "anneal_soak_c": None,
    "expansion": None,
}


def bare_family(**known: float) -> GlassFamily:
    return make_family("little known", **{**NO_POINTS, **known})


def test_nothing_known_is_soda_lime() -> None:
    assert glass_of(None) == Glass()
    found = estimated_glass_of(make_glass(family=bare_family()))
    assert (found.taken_from, found.glass) == ("soda_lime", Glass())


def test_family_s_annealing_point_tells_the_others() -> None:
    found = estimated_glass_of(make_glass(family=bare_family(annealing_point_c=440.0)))
    assert found.taken_from == "annealing_point"
    assert found.assumed == {"strain_point": 403.0, "softening_point": 615.0}


def test_kind_s_own_point_goes_before_its_family_s() -> None:
    family = bare_family(annealing_point_c=440.0)
    found = estimated_glass_of(make_glass(family=family, annealing_point_c=450.0))
    assert found.glass.annealing_point == 450.0


def test_family_that_is_known_goes_before_a_kind_s_single_point() -> None:
    found = estimated_glass_of(make_glass(annealing_point_c=450.0))
    assert (found.taken_from, found.glass.annealing_point) == ("", 532.0)


def test_family_s_soak_stands_in_for_its_points() -> None:
    found = estimated_glass_of(None, bare_family(anneal_soak_c=430.0))
    assert (found.taken_from, found.glass.annealing_point) == ("anneal_soak", 440.0)


def test_expansion_is_told_whatever_the_points() -> None:
    found = estimated_glass_of(None, bare_family(expansion=104.0))
    assert found.glass.expansion == pytest.approx(10.4e-6)
