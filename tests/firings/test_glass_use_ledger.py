"""Loads that take glass and give it back in any order, one by one and at once."""

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firings.actions.glass_use import glass_take
from firings.actions.load import piece_remove
from firings.actions.record import firing_call_off
from firings.models import GlassUse
from studio.actions import stock
from studio.models import GlassLot, Person, StockMovement
from studio.queries.stock import lots_that_differ
from studio.services.stock import Rectangle
from tests.at_once import at_once
from tests.factories import load_piece, make_firing, make_glass, make_kiln, make_person

SHEET = Rectangle(500, 400)
SIDES = st.integers(60, 400)
ACTS = st.lists(
    st.tuples(st.sampled_from(["sheet", "frit", "call off", "take out", "count"]), SIDES, SIDES),
    max_size=10,
)


@settings(max_examples=15, suppress_health_check=list(HealthCheck))
@given(acts=ACTS)
def test_all_that_was_called_off_lies_on_the_shelf_again(
    acts: list[tuple[str, int, int]], db: None
) -> None:
    with transaction.atomic():
        person = Person.objects.first() or make_person()
        kiln = make_kiln()
        sheets = stock.lot_receive(kind=make_glass(), by=person, amount=2, size=SHEET)
        frit = stock.lot_receive(
            kind=make_glass(form="frit", thickness_mm=None), by=person, amount=2000
        )
        loads, counted = [], 0
        for act, one, other in acts:
            firing = make_firing(person, kiln=kiln)
            try:
                if act == "sheet":
                    loads.append(loaded := load_piece(firing))
                    size = Rectangle(one, other)
                    glass_take(loaded=loaded, kind=sheets.kind, by=person, size=size, layers=2)
                elif act == "frit":
                    loads.append(loaded := load_piece(firing))
                    glass_take(loaded=loaded, kind=frit.kind, by=person, amount=one)
                elif act == "count":
                    frit.refresh_from_db()
                    stock.stock_count(lot=frit, by=person, found=one)
                    counted += one - frit.remaining
                elif loads:
                    loaded = loads.pop(one % len(loads))
                    if act == "call off":
                        firing_call_off(firing=loaded.firing, by=person)
                    else:
                        piece_remove(loaded=loaded, by=person)
            except ValidationError as error:
                assert error.code == "too_little"  # noqa: PT017  any act may find it so
            assert not lots_that_differ()
        for loaded in reversed(loads):
            firing_call_off(firing=loaded.firing, by=person)
        sheets.refresh_from_db()
        frit.refresh_from_db()
        assert not GlassUse.objects.filter(given_back_at=None).exists()
        assert frit.remaining == 2000 + counted
        # A sheet of which an offcut went elsewhere comes back as its blank; no more than there was.
        assert sheets.remaining <= 2 * SHEET.area
        assert not lots_that_differ()
        transaction.set_rollback(True)


@pytest.mark.django_db(transaction=True)
@settings(max_examples=5, suppress_health_check=list(HealthCheck))
@given(
    acts=st.lists(
        st.lists(st.tuples(st.booleans(), st.integers(100, 900)), min_size=1, max_size=3),
        min_size=4,
        max_size=4,
    )
)
def test_nothing_is_lost_where_several_take_and_call_off_at_once(
    acts: list[list[tuple[bool, int]]],
) -> None:
    person = Person.objects.first() or make_person()
    kind = make_glass(form="frit", thickness_mm=None)
    for _ in range(2):
        stock.lot_receive(kind=kind, by=person, amount=1500)
    firings = [[make_firing(person) for _ in each] for each in acts]
    loads = [[load_piece(firing) for firing in each] for each in firings]
    kept: list[int] = []

    def work(number: int) -> None:
        for (calls_off, amount), loaded in zip(acts[number], loads[number], strict=True):
            try:
                glass_take(loaded=loaded, kind=kind, by=person, amount=amount)
            except ValidationError:
                continue
            if calls_off:
                firing_call_off(firing=loaded.firing, by=person)
            else:
                kept.append(amount)

    assert at_once(work, range(4)) == [None] * 4
    remaining = list(GlassLot.objects.filter(kind=kind).values_list("remaining", flat=True))
    assert sum(remaining) == 3000 - sum(kept)
    assert min(remaining) >= 0
    assert not lots_that_differ()
    moved = StockMovement.objects.filter(lot__kind=kind).values_list("amount", flat=True)
    assert sum(moved) == sum(remaining)


@pytest.mark.django_db(transaction=True)
def test_called_off_by_two_at_once_comes_back_once(keeper: Person) -> None:
    kind = make_glass(form="frit", thickness_mm=None)
    lot = stock.lot_receive(kind=kind, by=keeper, amount=1000)
    firing = make_firing(keeper)
    glass_take(loaded=load_piece(firing), kind=kind, by=keeper, amount=400)

    told = at_once(lambda _: firing_call_off(firing=firing, by=keeper), range(2))

    assert [isinstance(each, ValidationError) for each in told].count(True) == 1
    lot.refresh_from_db()
    assert lot.remaining == 1000
