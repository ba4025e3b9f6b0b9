"""Finding glass on the shelf by its colour, and by what it is to lie with."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.models import GlassFamily, GlassKind, Person
from studio.services.stock import Rectangle
from tests.factories import load_piece, make_family, make_firing, make_glass, make_lot

Signed = Callable[[Person], Client]
SHELF = "/glass/shelf/"


@pytest.fixture
def family(db: None) -> GlassFamily:
    return make_family()


@pytest.fixture
def amber(family: GlassFamily) -> GlassKind:
    return make_glass(family=family, colour="amber", carries_sulphur=True)


@pytest.fixture
def on_the_shelf(family: GlassFamily, keeper: Person) -> dict[str, GlassKind]:
    kinds = {
        "clear": make_glass(family=family, colour="clear"),
        "turquoise": make_glass(family=family, colour="turquoise", carries_copper=True),
        "sunset red": make_glass(family=family, colour="sunset red", look="striker"),
        "strange": make_glass(family=make_family("Other 96"), colour="strange"),
    }
    for kind in kinds.values():
        make_lot(keeper, kind)
    return kinds


def test_colour_is_found_by_its_words(
    on_the_shelf: dict[str, GlassKind], keeper: Person, signed_in: Signed
) -> None:
    GlassKind.objects.filter(colour="clear").update(note="lovely under red")
    browser = signed_in(keeper)

    for asked in ("colour=red", "colour=Red+sun", "colour=SUNSET&size=180x120"):
        page = browser.get(f"{SHELF}?{asked}").text
        assert "sunset red sheet" in page, asked
        assert "clear sheet" not in page, asked
    assert "No such glass" in browser.get(f"{SHELF}?colour=red+blue").text


@pytest.mark.parametrize("size", ["", "180x120"])
def test_what_goes_with_a_glass_is_of_its_family(
    size: str,
    amber: GlassKind,
    on_the_shelf: dict[str, GlassKind],
    keeper: Person,
    signed_in: Signed,
) -> None:
    page = signed_in(keeper).get(SHELF, {"goes_with": amber.pk, "size": size})

    told = {
        (row.lot.kind if size else row).colour: [(each.code, each.reason) for each in remarks]
        for row, remarks in page.context["rows"]
    }
    assert told == {
        "clear": [],
        "turquoise": [("reactive", "sulphur_meets_copper")],
        "sunset red": [("strikes", "")],
    }
    assert "amber sheet 3 mm, turquoise sheet 3 mm: Glass with sulphur" in " ".join(
        page.text.split()
    )
    assert f'<input type="hidden" name="goes_with" value="{amber.pk}"' in page.text


def test_glasses_of_two_families_have_nothing_that_fits_both(
    amber: GlassKind, on_the_shelf: dict[str, GlassKind], keeper: Person, signed_in: Signed
) -> None:
    asked = {"goes_with": [amber.pk, on_the_shelf["strange"].pk]}
    page = signed_in(keeper).get(SHELF, asked)
    assert page.context["rows"] == []
    assert "strange sheet 3 mm: of another family" in " ".join(page.text.split())


def test_glasses_that_react_among_themselves_are_told_once(
    amber: GlassKind, on_the_shelf: dict[str, GlassKind], keeper: Person, signed_in: Signed
) -> None:
    asked = {"goes_with": [amber.pk, on_the_shelf["turquoise"].pk]}
    page = signed_in(keeper).get(SHELF, asked)
    assert [each.reason for each in page.context["among_them"]] == ["sulphur_meets_copper"]
    told = {row.colour: remarks for row, remarks in page.context["rows"]}
    assert told["clear"] == []


@pytest.mark.parametrize("wrong", ["99999", "amber"])
def test_a_glass_that_is_not_on_record_is_told(
    wrong: str, on_the_shelf: dict[str, GlassKind], keeper: Person, signed_in: Signed
) -> None:
    page = signed_in(keeper).get(SHELF, {"goes_with": wrong})
    assert page.context["form"].errors["goes_with"]
    assert "valid" in page.text


def test_a_piece_and_a_glass_lead_to_what_goes_with_them(
    amber: GlassKind, on_the_shelf: dict[str, GlassKind], artist: Person, signed_in: Signed
) -> None:
    loaded = load_piece(make_firing(artist), glass=amber)
    loaded.other_glasses.add(on_the_shelf["clear"])
    browser = signed_in(artist)

    both = f"{SHELF}?goes_with={amber.pk}&amp;goes_with={on_the_shelf['clear'].pk}"
    assert both in browser.get(f"/firings/{loaded.firing_id}/load/").text
    assert f'"{SHELF}?goes_with={amber.pk}"' in browser.get(f"/glass/{amber.pk}/").text


def test_more_rows_beside_more_glasses_ask_no_more(
    amber: GlassKind, on_the_shelf: dict[str, GlassKind], keeper: Person, signed_in: Signed
) -> None:
    browser, beside = signed_in(keeper), [amber.pk]

    def asked() -> list[int]:
        counts = []
        for size in ("", "10x10"):
            browser.get(SHELF, {"goes_with": beside, "size": size})
            with CaptureQueriesContext(connection) as queries:
                browser.get(SHELF, {"goes_with": beside, "size": size})
            counts.append(len(queries))
        return counts

    few = asked()
    for number in range(12):
        kind = make_glass(family=amber.family, colour=f"c{number}")
        make_lot(keeper, kind, size=Rectangle(300, 200))
        beside.append(kind.pk)

    assert asked() == few
    assert max(few) <= 10
