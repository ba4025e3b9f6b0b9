"""A cut of sheet, and what it leaves: proposed, changed, and costed."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.models import GlassLot, Person
from studio.services.stock import NARROWEST_KEPT, Rectangle, worth_keeping
from tests.factories import make_glass, make_lot

Signed = Callable[[Person], Client]


@pytest.fixture
def lot(keeper: Person) -> GlassLot:
    """Two sheets of 500 × 400 mm that cost 48."""
    return make_lot(keeper)


def cut_at(lot: GlassLot) -> str:
    return f"/glass/shelf/lots/{lot.pk}/cut/"


def test_first_the_piece_and_what_is_wanted_are_asked(
    lot: GlassLot, student: Person, signed_in: Signed
) -> None:
    page = signed_in(student).get(cut_at(lot))
    assert list(page.context["form"].fields) == ["sheet", "wanted"]
    assert not page.context["form"].errors
    assert f'<form method="get" action="{cut_at(lot)}"' in page.text


@pytest.mark.parametrize(
    ("wanted", "back"),
    [
        ("180 x 120", ["400 × 380", "220 × 120"]),  # by hand: 500 − 120 = 380, 400 − 180 = 220
        ("400 x 300", ["400 × 200"]),
        ("490 x 200", ["500 × 200"]),  # the strip of 200 × 10 is too narrow
        ("500 x 400", []),
        ("", []),
    ],
)
def test_what_comes_back_is_proposed(
    wanted: str, back: list[str], lot: GlassLot, student: Person, signed_in: Signed
) -> None:
    page = signed_in(student).get(cut_at(lot), {"sheet": "500x400", "wanted": wanted})

    begun = page.context["form"].initial
    assert [begun[name] for name in ("back", "also_back") if name in begun] == back
    assert all(f'value="{size}"' in page.text for size in back)
    assert page.context["act"] == "cut"


def test_what_was_proposed_can_be_sent_as_it_stands(
    lot: GlassLot, student: Person, signed_in: Signed
) -> None:
    browser = signed_in(student)
    begun = browser.get(cut_at(lot), {"sheet": "500x400", "wanted": "180x120"}).context["form"]

    browser.post(cut_at(lot), begun.initial | {"reason": "bowl"})

    assert {each.rectangle: each.pieces for each in lot.sizes.all()} == {
        Rectangle(500, 400): 1,
        Rectangle(400, 380): 1,
        Rectangle(220, 120): 1,
    }


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"sheet": "500x400", "wanted": "600 x 30"}, "wanted"),
        ({"sheet": "500x400", "wanted": "wide"}, "wanted"),
        ({"sheet": "90x80", "wanted": "20 x 30"}, "sheet"),
        ({"wanted": "20 x 30"}, "sheet"),
    ],
)
def test_what_does_not_come_out_of_it_is_told_at_its_field(
    asked: dict[str, str], field: str, lot: GlassLot, student: Person, signed_in: Signed
) -> None:
    page = signed_in(student).get(cut_at(lot), asked)
    assert page.context["form"].errors[field]
    assert f'value="{asked["wanted"]}"' in page.text


def test_search_by_size_leads_to_the_cut(lot: GlassLot, student: Person, signed_in: Signed) -> None:
    browser = signed_in(student)
    address = f"{cut_at(lot)}?sheet=500x400&amp;wanted=180x120"
    assert address in browser.get("/glass/shelf/?size=120x180").text
    assert browser.get(address.replace("&amp;", "&")).context["form"].initial["back"]


def test_narrow_strips_are_not_kept() -> None:
    least = Rectangle(500, NARROWEST_KEPT)
    assert worth_keeping([least, Rectangle(500, NARROWEST_KEPT - 1)]) == [least]


def test_cost_is_of_what_was_used(lot: GlassLot, keeper: Person, signed_in: Signed) -> None:
    browser, base = signed_in(keeper), f"/glass/shelf/lots/{lot.pk}"
    cut = {"sheet": "500x400", "wanted": "180 × 120", "back": "400 × 320", "reason": "bowl"}
    browser.post(cut_at(lot), cut)
    browser.post(f"{base}/take/", {"size": "400x320", "amount": "1", "what": "broken"})

    page = browser.get(f"{base}/")

    # 48 for 400,000 mm²: a cut of 200,000 less 128,000 that came back, then those 128,000.
    costs = {line.what: cost for line, cost in page.context["rows"]}
    assert {what: cost and float(cost) for what, cost in costs.items()} == {
        "broken": 15.36,
        "offcut": None,
        "cut": 8.64,
        "received": None,
    }
    assert "8.64 EUR" in page.text


def test_nothing_is_costed_without_a_price_or_once_taken_back(
    lot: GlassLot, keeper: Person, signed_in: Signed
) -> None:
    browser, free = signed_in(keeper), make_lot(keeper, make_glass(colour="gift"), price=None)
    for each in (lot, free):
        browser.post(cut_at(each), {"sheet": "500x400"})
    browser.post(f"/glass/shelf/movements/{lot.movements.first().pk}/take-back/")

    for each in (lot, free):
        page = browser.get(f"/glass/shelf/lots/{each.pk}/")
        assert [cost for _, cost in page.context["rows"] if cost is not None] == []
    assert "Cost</th>" not in page.text


def test_more_lines_ask_no_more(lot: GlassLot, keeper: Person, signed_in: Signed) -> None:
    browser, address = signed_in(keeper), f"/glass/shelf/lots/{lot.pk}/"

    def asked() -> int:
        browser.get(address)
        with CaptureQueriesContext(connection) as queries:
            browser.get(address)
        return len(queries)

    browser.post(cut_at(lot), {"sheet": "500x400", "back": "400x300"})
    few = asked()
    for _ in range(4):
        browser.post(cut_at(lot), {"sheet": "400x300", "back": "400x300"})
    assert lot.movements.count() == 11
    assert asked() == few <= 10
