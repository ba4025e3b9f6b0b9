import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied

from studio import access
from studio.models import Person, Role
from tests.factories import make_kiln

pytestmark = pytest.mark.django_db


def test_every_act_has_a_row_for_every_role() -> None:
    assert all(set(row) == {*Role.values, access.AT_DEVICE} for row in access.TABLE.values())


def test_nobody_may_do_anything_unless_signed_in() -> None:
    assert not any(access.may(AnonymousUser(), act) for act in access.TABLE)


def test_a_person_who_was_switched_off_may_do_nothing(keeper: Person) -> None:
    keeper.is_active = False
    assert not any(access.may(keeper, act) for act in access.TABLE)


def test_only_the_keeper_changes_kilns(keeper: Person, artist: Person) -> None:
    kiln = make_kiln()
    assert access.may(keeper, "kiln.change", kiln)
    with pytest.raises(PermissionDenied):
        access.require(artist, "kiln.change", kiln)


def test_what_no_app_has_a_relation_for_belongs_to_others(artist: Person) -> None:
    assert access.relation(artist, make_kiln()) == access.OTHER


def test_an_unknown_act_is_a_mistake_of_ours(keeper: Person) -> None:
    with pytest.raises(KeyError):
        access.may(keeper, "kiln.paint")
