"""Glass for a piece: layers and amounts off the shelf, and back."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from studio.actions import stock, stock_use
from studio.models import GlassKind, GlassLot, Person
from studio.queries.stock import lots_that_differ
from studio.services.stock import Rectangle
from tests.at_once import at_once
from tests.factories import make_glass

SHEET, LAYER = Rectangle(500, 400), Rectangle(180, 120)


@pytest.fixture
def sheet(keeper: Person) -> GlassLot:
    return stock.lot_receive(kind=make_glass(), by=keeper, amount=1, size=SHEET)


@pytest.fixture
def frit(keeper: Person) -> GlassLot:
    kind = make_glass(form="frit", thickness_mm=None)
    return stock.lot_receive(kind=kind, by=keeper, amount=1000, price=Decimal("20"))


def sizes(lot: GlassLot) -> dict[Rectangle, int]:
    return {each.rectangle: each.pieces for each in lot.sizes.all()}


def test_layers_come_out_of_the_smallest_piece_that_holds_them(
    sheet: GlassLot, keeper: Person
) -> None:
    offcuts = stock.lot_receive(
        kind=sheet.kind, by=keeper, amount=1, size=Rectangle(200, 130), price=Decimal(1)
    )

    taken = stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=LAYER, layers=2)

    assert [line.lot_id for line in taken] == [offcuts.pk, sheet.pk]
    # 500 × 400 less 180 × 120: one score across leaves 400 × 380 and 220 × 120.
    assert sizes(sheet) == {Rectangle(400, 380): 1, Rectangle(220, 120): 1}
    assert not lots_that_differ()


def test_a_named_lot_is_the_one_that_is_cut(sheet: GlassLot, keeper: Person) -> None:
    stock.lot_receive(kind=sheet.kind, by=keeper, amount=1, size=Rectangle(200, 130))

    taken = stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=LAYER, layers=1, lot=sheet)

    assert [line.lot_id for line in taken] == [sheet.pk]


def test_too_few_layers_are_told_and_nothing_is_cut(sheet: GlassLot, keeper: Person) -> None:
    with pytest.raises(ValidationError, match="1 of 2 layers") as told:
        stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=Rectangle(400, 300), layers=2)
    assert told.value.code == "too_little"
    assert sizes(sheet) == {SHEET: 1}


def test_what_the_book_does_not_know_is_counted_in_first(sheet: GlassLot, keeper: Person) -> None:
    wanted = Rectangle(400, 300)

    stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=wanted, layers=2, count_up=True)

    whats = list(sheet.movements.order_by("pk").values_list("what", flat=True))
    assert whats.count("counted") == 1
    assert whats.count("cut") == 2
    assert wanted not in sizes(sheet)
    assert not lots_that_differ()


def test_amount_is_counted_up_too(frit: GlassLot, keeper: Person) -> None:
    with pytest.raises(ValidationError, match="is asked for") as told:
        stock_use.take_amount(kind=frit.kind, by=keeper, amount=1200)
    assert told.value.code == "too_little"

    stock_use.take_amount(kind=frit.kind, by=keeper, amount=1200, count_up=True)

    frit.refresh_from_db()
    assert frit.remaining == 0
    assert frit.movements.filter(what="counted").get().amount == 200


def test_glass_that_never_came_cannot_be_taken(kind_without_lot: GlassKind, keeper: Person) -> None:
    with pytest.raises(ValidationError, match="ever came") as told:
        stock_use.take_amount(kind=kind_without_lot, by=keeper, amount=1, count_up=True)
    assert told.value.code == "no_lot"


@pytest.fixture
def kind_without_lot(db: None) -> GlassKind:
    return make_glass(form="powder", thickness_mm=None)


def test_all_layers_given_back_make_the_sheet_whole(sheet: GlassLot, keeper: Person) -> None:
    taken = stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=LAYER, layers=3)

    stock_use.give_back(movements=taken, by=keeper, blank=LAYER)

    assert sizes(sheet) == {SHEET: 1}
    assert not lots_that_differ()


def test_where_an_offcut_was_used_the_blank_comes_back(sheet: GlassLot, keeper: Person) -> None:
    taken = stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=LAYER, layers=1)
    stock.stock_take(lot=sheet, by=keeper, what="cut", amount=1, size=Rectangle(400, 380))

    stock_use.give_back(movements=taken, by=keeper, blank=LAYER)

    assert sizes(sheet) == {Rectangle(220, 120): 1, LAYER: 1}
    assert not lots_that_differ()


@pytest.mark.django_db(transaction=True)
def test_of_two_at_the_last_sheet_one_is_told(keeper: Person, sheet: GlassLot) -> None:
    def cut(wanted: Rectangle) -> object:
        return stock_use.take_layers(kind=sheet.kind, by=keeper, wanted=wanted, layers=1)

    told = at_once(cut, [Rectangle(450, 350)] * 2)

    assert [isinstance(each, ValidationError) for each in sorted(told, key=str)].count(True) == 1
    assert not lots_that_differ()
