"""The glass shelf's ledger, against a plain model of it."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from studio.actions import stock
from studio.models import GlassLot, Person, StockMovement
from studio.queries.stock import lots_that_differ
from studio.services.stock import Rectangle
from tests.at_once import at_once
from tests.factories import make_glass, make_person

SHEET, OFFCUT = Rectangle(500, 400), Rectangle(400, 380)


@pytest.fixture
def frit(keeper: Person) -> GlassLot:
    kind = make_glass(form="frit", thickness_mm=None)
    return stock.lot_receive(kind=kind, by=keeper, amount=1000, price=Decimal("20"))


@pytest.fixture
def sheet(keeper: Person) -> GlassLot:
    return stock.lot_receive(kind=make_glass(), by=keeper, amount=2, size=SHEET)


def sizes(lot: GlassLot) -> dict[Rectangle, int]:
    return {each.rectangle: each.pieces for each in lot.sizes.all()}


def test_cut_takes_a_sheet_and_returns_its_offcut(sheet: GlassLot, keeper: Person) -> None:
    stock.stock_cut(lot=sheet, by=keeper, sheet=SHEET, wanted=Rectangle(180, 120), offcuts=[OFFCUT])

    sheet.refresh_from_db()
    assert sizes(sheet) == {SHEET: 1, OFFCUT: 1}
    assert sheet.remaining == SHEET.area + OFFCUT.area
    assert [line.what for line in sheet.movements.order_by("pk")] == ["received", "cut", "offcut"]


def test_more_than_a_sheet_does_not_come_out_of_it(sheet: GlassLot, keeper: Person) -> None:
    with pytest.raises(ValidationError, match="come out of one piece"):
        stock.stock_cut(lot=sheet, by=keeper, sheet=SHEET, wanted=SHEET, offcuts=[OFFCUT])
    assert sheet.movements.count() == 1


def test_cut_is_taken_back_with_its_offcut_and_only_once(sheet: GlassLot, keeper: Person) -> None:
    cut = stock.stock_cut(lot=sheet, by=keeper, sheet=SHEET, offcuts=[OFFCUT])

    stock.movement_take_back(movement=cut, by=keeper)

    sheet.refresh_from_db()
    assert sizes(sheet) == {SHEET: 2}
    assert sheet.remaining == 2 * SHEET.area
    with pytest.raises(ValidationError, match="taken back already"):
        stock.movement_take_back(movement=cut, by=keeper)


def test_offcut_that_was_used_keeps_its_cut_from_being_taken_back(
    sheet: GlassLot, keeper: Person
) -> None:
    cut = stock.stock_cut(lot=sheet, by=keeper, sheet=SHEET, offcuts=[OFFCUT])
    stock.stock_take(lot=sheet, by=keeper, what="cut", amount=1, size=OFFCUT)

    with pytest.raises(ValidationError, match="There is no"):
        stock.movement_take_back(movement=cut, by=keeper)
    assert not lots_that_differ()


def test_never_below_nothing_without_saying_so(frit: GlassLot, keeper: Person) -> None:
    with pytest.raises(ValidationError, match=r"Only 1.*g is there, 1\.5.*g is asked for"):
        stock.stock_take(lot=frit, by=keeper, what="cut", amount=1500)
    stock.stock_count(lot=frit, by=keeper, found=1800)
    stock.stock_take(lot=frit, by=keeper, what="cut", amount=1500)

    frit.refresh_from_db()
    assert frit.remaining == 300


def test_a_count_that_agrees_is_written_too(frit: GlassLot, keeper: Person) -> None:
    assert stock.stock_count(lot=frit, by=keeper, found=1000).amount == 0
    assert frit.movements.count() == 2


def test_first_in_goes_first_out(frit: GlassLot, keeper: Person) -> None:
    newer = stock.lot_receive(kind=frit.kind, by=keeper, amount=1000, price=Decimal("30"))

    taken = stock.stock_take_first_in(kind=frit.kind, by=keeper, what="cut", amount=1200)

    assert [(line.lot_id, line.amount) for line in taken] == [(frit.pk, -1000), (newer.pk, -200)]
    with pytest.raises(ValidationError, match="is there"):
        stock.stock_take_first_in(kind=frit.kind, by=keeper, what="cut", amount=801)


def test_no_more_comes_back_than_was_taken(frit: GlassLot, keeper: Person) -> None:
    stock.stock_take(lot=frit, by=keeper, what="cut", amount=100)
    with pytest.raises(ValidationError, match="ever taken"):
        stock.stock_return(lot=frit, by=keeper, amount=101)
    assert stock.stock_return(lot=frit, by=keeper, amount=100).amount == 100


def test_movements_never_change_and_stay(frit: GlassLot) -> None:
    line = frit.movements.get()
    for change in (
        line.save,
        line.delete,
        lambda: StockMovement.objects.update(amount=1),
        lambda: StockMovement.objects.all().delete(),
    ):
        with pytest.raises(TypeError, match="movement"):
            change()


def test_the_database_itself_keeps_a_lot_from_falling_below_nothing(frit: GlassLot) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        GlassLot.objects.filter(pk=frit.pk).update(remaining=-1)


ACTS = st.lists(
    st.tuples(st.sampled_from(["receive", "cut", "return", "count", "undo"]), st.integers(1, 900)),
    max_size=14,
)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(acts=ACTS)
def test_sum_equals_a_plain_models_in_any_order(acts: list[tuple[str, int]], db: None) -> None:
    with transaction.atomic():
        person = Person.objects.first() or make_person()
        kind = make_glass(form="frit", thickness_mm=None)
        lots = [stock.lot_receive(kind=kind, by=person, amount=1000)]
        left, came, takes = [1000], [1000], []
        for act, size in acts:
            where = size % len(lots)
            lot = lots[where]
            try:
                if act == "receive":
                    lots.append(stock.lot_receive(kind=kind, by=person, amount=size))
                    left.append(size)
                    came.append(size)
                elif act == "cut":
                    takes.append(
                        (where, size, stock.stock_take(lot=lot, by=person, what="cut", amount=size))
                    )
                    assert left[where] >= size
                    left[where] -= size
                elif act == "return":
                    stock.stock_return(lot=lot, by=person, amount=size)
                    assert left[where] + size <= came[where]
                    left[where] += size
                elif act == "count":
                    stock.stock_count(lot=lot, by=person, found=size)
                    left[where] = size
                elif takes:
                    where, size, line = takes.pop()
                    stock.movement_take_back(movement=line, by=person)
                    left[where] += size
            except ValidationError:
                assert (act == "cut" and left[where] < size) or (
                    act == "return" and left[where] + size > came[where]
                )
        for lot, expected in zip(lots, left, strict=True):
            lot.refresh_from_db()
            assert lot.remaining == expected
            assert sum(lot.movements.values_list("amount", flat=True)) == expected
        assert not lots_that_differ()
        transaction.set_rollback(True)


@pytest.mark.django_db(transaction=True)
def test_of_many_who_cut_the_last_sheet_at_once_one_has_it() -> None:
    person = make_person()
    lot = stock.lot_receive(kind=make_glass(), by=person, amount=1, size=SHEET)

    told = became(4, lambda _: stock.stock_cut(lot=lot, by=person, sheet=SHEET, offcuts=[OFFCUT]))

    assert sorted(told) == ["done", "told", "told", "told"]
    assert sizes(lot) == {OFFCUT: 1}
    assert not lots_that_differ()


@pytest.mark.django_db(transaction=True)
@settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    acts=st.lists(
        st.lists(
            st.tuples(st.sampled_from(["cut", "return", "take first in"]), st.integers(1, 400)),
            min_size=2,
            max_size=4,
        ),
        min_size=4,
        max_size=4,
    )
)
def test_nothing_is_lost_or_doubled_where_several_write_at_once(
    acts: list[list[tuple[str, int]]],
) -> None:
    person = Person.objects.first() or make_person()
    kind = make_glass(form="frit", thickness_mm=None)
    lots = [stock.lot_receive(kind=kind, by=person, amount=1000) for _ in range(2)]
    came: list[int] = []

    def work(number: int) -> None:
        lot = lots[number % 2]
        for act, amount in acts[number]:
            try:
                if act == "cut":
                    stock.stock_take(lot=lot, by=person, what="cut", amount=amount)
                    came.append(-amount)
                elif act == "return":
                    stock.stock_return(lot=lot, by=person, amount=amount)
                    came.append(amount)
                else:
                    stock.stock_take_first_in(kind=kind, by=person, what="cut", amount=amount)
                    came.append(-amount)
            except ValidationError:
                pass

    assert became(4, work) == ["done"] * 4
    remaining = GlassLot.objects.filter(kind=kind).values_list("remaining", flat=True)
    assert sum(remaining) == 2000 + sum(came)
    assert min(remaining) >= 0
    assert not lots_that_differ()


def became(how_many: int, work: Callable[[int], object]) -> list[str]:
    answers = at_once(work, range(how_many))
    return ["told" if isinstance(each, ValidationError) else "done" for each in answers]
