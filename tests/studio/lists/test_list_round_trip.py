"""What was saved and is brought in again changes nothing."""

from collections.abc import Iterable
from datetime import UTC, date
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from studio.actions.glass_in_bulk import FIELDS as GLASS_FIELDS
from studio.actions.stock import lot_receive, stock_take
from studio.actions.stock_in_bulk import FIELDS as LOT_FIELDS
from studio.csv_export import list_lines
from studio.lists import saved_lists
from studio.models import (
    MEASURES_OF_FORM,
    GlassKind,
    GlassLook,
    GlassLot,
    Person,
    StockMovement,
    StockSize,
)
from studio.services.stock import Rectangle
from tests.factories import make_family, make_person
from tests.studio.lists.bringing import brought_in, csv_file

WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Zs", "Zl", "Zp"]), max_size=12
) | st.sampled_from(["=1+1", "-", "'=x", "+5", "@a", "1,5", "0012", "moss; dark", 'a "b"', "no"])
PRICES = st.none() | st.decimals(0, 9_999_999, places=4)


@st.composite
def kinds(draw: st.DrawFn) -> dict[str, Any]:
    form = draw(st.sampled_from(sorted(MEASURES_OF_FORM)))
    return {
        "colour": draw(WORDS.filter(bool)),
        "maker": draw(WORDS),
        "form": form,
        "look": draw(st.sampled_from(GlassLook.values)),
        "thickness_mm": draw(st.none() | st.floats(0.1, 100)),
        "expansion": draw(st.none() | st.floats(0, 200)),
        "strain_point_c": draw(st.none() | st.floats(250, 450)),
        "softening_point_c": draw(st.none() | st.floats(500, 1100)),
        "carries_copper": draw(st.booleans()),
        "note": draw(WORDS),
        "measure": draw(st.sampled_from(MEASURES_OF_FORM[form])),
    }


@st.composite
def lots(draw: st.DrawFn) -> dict[str, Any]:
    return {
        "size": draw(st.builds(Rectangle, st.integers(1, 5000), st.integers(1, 5000))),
        "amount": draw(st.integers(2, 10_000)),
        "price": draw(PRICES),
        "supplier": draw(WORDS),
        "batch": draw(WORDS),
        "place": draw(WORDS),
        "received_on": draw(st.dates(date(1990, 1, 1), date(2026, 1, 1))),
        "taken": draw(st.booleans()),
    }


SHELVES = st.lists(st.tuples(kinds(), st.lists(lots(), max_size=2)), min_size=1, max_size=4)


def fill(person: Person, shelf: Iterable[tuple[dict[str, Any], list[dict[str, Any]]]]) -> None:
    for at, (of_kind, of_lots) in enumerate(shelf):
        measure = of_kind.pop("measure")
        kind = GlassKind(family=make_family(), code=f"={at}" if at % 2 else "", **of_kind)
        kind.full_clean()
        kind.save()
        for each in of_lots:
            taken, size = each.pop("taken"), each.pop("size")
            size = size if measure == "area" else None
            lot = lot_receive(kind=kind, by=person, measure=measure, size=size, **each)
            if taken:
                stock_take(lot=lot, by=person, what="broken", amount=1, size=size)


def saved(person: Person, key: str) -> bytes:
    return "".join(list_lines(saved_lists()[key], person, UTC)).encode()


def rows_of(*models: Any) -> list[Any]:
    return [list(model.objects.order_by("pk").values()) for model in models]


@pytest.mark.django_db
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(shelf=SHELVES)
def test_saved_shelf_brought_in_again_changes_nothing(
    db: None, shelf: list[tuple[dict[str, Any], list[dict[str, Any]]]]
) -> None:
    with transaction.atomic():
        keeper = make_person("mads", role="keeper")
        fill(keeper, shelf)
        before = rows_of(GlassKind, GlassLot, StockSize, StockMovement)
        for key in ("glass", "shelf"):
            raw = saved(keeper, key)
            if raw.count(b"\r\n") < 2:
                continue
            taken = brought_in(keeper, raw, key)
            assert {fate for fate, count in taken.fates.items() if count} == {"same"}
        assert rows_of(GlassKind, GlassLot, StockSize, StockMovement) == before
        transaction.set_rollback(True)


def test_lists_have_every_field_that_is_keyed() -> None:
    kept = {"id", "archived_at"}
    fields = {field.name for field in GlassKind._meta.fields}
    assert fields - kept == set(GLASS_FIELDS)
    editable = {field.name for field in GlassLot._meta.fields if field.editable} - {"id", "kind"}
    assert editable == set(LOT_FIELDS.values())


def test_a_changed_price_alone_writes_no_movement(keeper: Person) -> None:
    fill(keeper, [(_plain_kind(), [_plain_lot()])])
    lot = GlassLot.objects.get()
    taken = brought_in(keeper, csv_file(("lot", "price"), (lot.pk, "54,50")))
    lot.refresh_from_db()
    assert (taken.fates["changed"], lot.price) == (1, Decimal("54.5"))
    assert lot.movements.count() == 1


def test_glass_is_changed_by_its_number_and_made_without_one(keeper: Person) -> None:
    fill(keeper, [(_plain_kind(), [])])
    kind = GlassKind.objects.get()
    raw = csv_file(
        ("glass", "family", "colour", "form", "strain point (°F)", "copper"),
        (kind.pk, "soft 90", "moss green", "sheet", "932", "yes"),
        ("", "Soft 90", "fern", "frit", "", "no"),
    )
    taken = brought_in(keeper, raw, "glass")
    kind.refresh_from_db()
    assert (taken.fates["changed"], taken.fates["new"]) == (1, 1)
    assert (kind.colour, kind.strain_point_c, kind.carries_copper) == ("moss green", 500.0, True)
    assert GlassKind.objects.filter(colour="fern", form="frit", family=kind.family).exists()


def _plain_kind() -> dict[str, Any]:
    return {"colour": "moss", "form": "sheet", "measure": "area", "thickness_mm": 3.0}


def _plain_lot() -> dict[str, Any]:
    return {"size": Rectangle(500, 400), "amount": 2, "price": Decimal(48), "taken": False}
