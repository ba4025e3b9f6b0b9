"""Which glasses belong in one piece; facts of the trade here are common practice, no source."""

from itertools import permutations

import pytest

from studio.services.glass_match import CARRIED, REACTIONS, GlassInPiece, fit, reactions_among


def glass(name: str, *reaction: str, family: str = "one", strikes: bool = False) -> GlassInPiece:
    return GlassInPiece(family, frozenset(reaction), strikes, name)


CLEAR, AMBER = glass("clear"), glass("amber", "sulphur")
SEA, CRYSTAL, LILAC = glass("sea", "copper"), glass("crystal", "lead"), glass("lilac", "silver")
FLOAT = glass("float", family="other")


def found(*pieces: GlassInPiece) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(each.code, each.reason, each.glasses) for each in fit(pieces)]


@pytest.mark.parametrize("pieces", [(), (AMBER,), (CLEAR, AMBER), (SEA, CRYSTAL, LILAC)])
def test_nothing_is_said_of_glasses_that_fit(pieces: tuple[GlassInPiece, ...]) -> None:
    assert fit(pieces) == []


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        (SEA, "sulphur_meets_copper"),
        (CRYSTAL, "sulphur_meets_lead"),
        (LILAC, "sulphur_meets_silver"),
    ],
)
def test_sulphur_reacts_with_copper_lead_and_silver(other: GlassInPiece, reason: str) -> None:
    assert found(CLEAR, AMBER, other) == [("reactive", reason, ("amber", other.name))]
    assert found(other, AMBER) == [("reactive", reason, (other.name, "amber"))]
    assert [each.severity for each in fit([AMBER, other])] == ["warn"]


def test_what_one_glass_carries_by_itself_does_not_count() -> None:
    both = glass("both", "sulphur", "copper")
    assert fit([both, CLEAR]) == []
    assert found(both, SEA) == [("reactive", "sulphur_meets_copper", ("both", "sea"))]


def test_another_family_blocks_and_is_named_against_the_first() -> None:
    assert found(CLEAR, FLOAT, SEA) == [("other_family", "", ("float",))]
    assert found(FLOAT, CLEAR, SEA) == [("other_family", "", ("clear", "sea"))]
    assert fit([CLEAR, FLOAT])[0].severity == "block"


def test_a_family_that_is_not_known_speaks_against_nothing() -> None:
    unknown = glass("found in a drawer", family="")
    assert found(unknown, CLEAR, FLOAT) == [("other_family", "", ("float",))]
    assert fit([unknown, FLOAT]) == []


def test_strikers_are_noted_once_and_last() -> None:
    red = glass("red", "sulphur", strikes=True)
    orange = glass("orange", family="other", strikes=True)
    said = fit([red, SEA, orange])
    assert [each.code for each in said] == ["other_family", "reactive", "strikes"]
    assert (said[-1].severity, said[-1].glasses) == ("note", ("red", "orange"))


def test_order_does_not_change_what_meets() -> None:
    carried = [each.reaction for each in (AMBER, SEA, CRYSTAL, LILAC, CLEAR)]
    assert {tuple(reactions_among(each)) for each in permutations(carried)} == {REACTIONS}


def test_what_is_carried_is_spelt_as_it_is_known() -> None:
    assert {each for pair in REACTIONS for each in pair} == set(CARRIED)
    with pytest.raises(ValueError, match="silber"):
        GlassInPiece("one", frozenset({"silber"}))
