import pytest
from django.template.loader import render_to_string

from studio.core_inputs import glass_in_piece
from studio.models import GlassLook
from studio.services.glass_match import REACTIONS, GlassRemark, fit
from tests.factories import make_family, make_glass

REASONS = [f"{one}_meets_{other}" for one, other in REACTIONS]


def words_of(remark: GlassRemark) -> str:
    said = render_to_string("studio/_glass_remark_words.html", {"remark": remark})
    return " ".join(said.split())


@pytest.mark.parametrize(
    ("code", "reason"),
    [("other_family", ""), ("strikes", ""), *(("reactive", reason) for reason in REASONS)],
)
def test_each_remark_names_its_glasses_and_says_why(code: str, reason: str) -> None:
    said = words_of(GlassRemark(code, "warn", ("amber", "sea green"), reason))
    assert said.startswith("amber, sea green: ")
    assert len(said) > 70


def test_each_reaction_has_words_of_its_own() -> None:
    said = {words_of(GlassRemark("reactive", "warn", (), reason)) for reason in REASONS}
    assert len(said) == len(REASONS)


@pytest.mark.django_db
def test_kinds_on_record_are_matched_as_their_rows_say() -> None:
    family = make_family()
    amber = make_glass(family=family, colour="amber", look=GlassLook.STRIKER, carries_sulphur=True)
    lilac = make_glass(family=family, colour="lilac", carries_silver=True)
    strange = make_glass(family=make_family("another"), colour="float")

    said = fit([glass_in_piece(kind) for kind in (amber, lilac, strange)])

    assert [each.code for each in said] == ["other_family", "reactive", "strikes"]
    assert said[1].glasses == (str(amber), str(lilac))
