"""What becomes of a row of a shelf."""

import datetime as dt
from decimal import Decimal

import pytest

from studio.models import MEASURES_OF_FORM, GlassForm, GlassKind, GlassLook, GlassLot
from studio.services.lists.fates import CHANGED, NEW, REFUSED, SAME, Change
from studio.services.lists.glass import POINTS, GlassJudge, GlassRecord, GlassShelf
from studio.services.lists.known_glass import FORMS, LONGEST, LOOKS, KnownGlass
from studio.services.lists.known_shelf import MEASURES, KnownLot, Shelf
from studio.services.lists.shelf import ShelfJudge
from studio.services.lists.values import Reading
from studio.services.stock import Rectangle

TODAY = dt.date(2026, 5, 4)
MOSS = KnownGlass(1, "soft 90", "Mill", "s-204", "moss", "sheet", "transparent", 3.0, "area")
FERN = KnownGlass(2, "soft 90", "", "", "fern", "frit", "transparent", None, "mass")
REED = KnownGlass(3, "soft 90", "", "", "reed", "rod", "transparent", 6.0, "")
SHEET = KnownLot(7, 1, "area", TODAY, "the mill", "", "rack A", Decimal("48.0000"), "EUR",
                 600_000, {Rectangle(500, 400): 2, Rectangle(500, 200): 2})  # fmt: skip
FRIT = KnownLot(8, 2, "mass", TODAY, "", "", "", None, "EUR", 250_000)


@pytest.fixture
def judge() -> ShelfJudge:
    shelf = Shelf(("soft 90", "hard 104"), (MOSS, FERN, REED), {7: SHEET, 8: FRIT}, "EUR", TODAY)
    return ShelfJudge(shelf, Reading())


def row(**cells: str) -> dict[str, str]:
    return cells


def test_core_knows_what_the_models_know() -> None:
    """They stand twice, as the core knows no models."""
    assert {form: tuple(measures) for form, measures in MEASURES.items()} == MEASURES_OF_FORM
    assert list(FORMS) == GlassForm.values
    assert list(LOOKS) == GlassLook.values
    for name in ("maker", "code", "colour"):
        assert GlassKind._meta.get_field(name).max_length == LONGEST[name]
    for name, limits in POINTS.items():
        given = GlassKind._meta.get_field(f"{name}_point_c").validators
        assert tuple(each.limit_value for each in given) == limits
    assert {GlassLot._meta.get_field(name).max_length for name in ("supplier", "place")} == {80}


def test_row_of_known_glass_is_a_new_lot(judge: ShelfJudge) -> None:
    judged = judge.judge(
        2,
        row(
            code="S-204", length="400", width="500", pieces="3", price="12,50 €", received="3.5.26"
        ),
    )
    assert (judged.fate, judged.says) == (NEW, MOSS.says)
    assert judged.changes == (
        Change("length", "", "500 mm"),
        Change("width", "", "400 mm"),
        Change("pieces", "", "3"),
        Change("received", "", "2026-05-03"),
        Change("price", "", "12.5 EUR"),
    )
    assert (judged.plan.glass, judged.plan.amount) == (MOSS, 3)
    assert judged.plan.size == Rectangle(500, 400)
    assert judged.plan.fields == {"price": Decimal("12.50"), "received": dt.date(2026, 5, 3)}


def test_unknown_glass_is_made_once_and_found_by_later_rows(judge: ShelfJudge) -> None:
    told = {"family": "Hard 104", "colour": "plum", "form": "Rods"}
    first = judge.judge(2, row(**told, metres="1.5"))
    later = judge.judge(3, row(**told, metres="2"))
    otherwise = judge.judge(4, row(**told, pieces="2"))

    assert first.changes == (Change("glass", "", "plum rod"), Change("metres", "", "1.5 m"))
    assert first.plan.glass == later.plan.glass
    assert (first.plan.measure, first.plan.amount) == ("length", 1500)
    assert later.changes == (Change("metres", "", "2 m"),)
    assert otherwise.reason is not None
    assert otherwise.reason.code == "measured_otherwise"


@pytest.mark.parametrize("size", ["500x400", "400 × 500 mm", "50 × 40 cm", "50 cm * 0.4 m"])
def test_size_in_one_cell(judge: ShelfJudge, size: str) -> None:
    judged = judge.judge(2, row(code="s-204", size=size, pieces="1"))
    assert judged.plan.size == Rectangle(500, 400)


def test_known_lot_as_it_stands_is_the_same(judge: ShelfJudge) -> None:
    asked = row(lot="7", colour="MOSS", length="500", width="400", pieces="2", price="48", place="")
    assert judge.judge(2, asked).fate == SAME
    assert judge.judge(3, row(lot="8", mass="250")).fate == SAME


def test_known_lot_is_counted_and_put_right(judge: ShelfJudge) -> None:
    judged = judge.judge(2, row(lot="7", length="200", width="500", pieces="0", place="rack D"))
    assert judged.fate == CHANGED
    assert judged.changes == (Change("place", "rack A", "rack D"), Change("pieces", "2", "0"))
    assert (judged.plan.found, judged.plan.size) == (0, Rectangle(500, 200))
    assert judged.plan.fields == {"place": "rack D"}


REFUSALS = [
    (row(), "glass_not_named", "colour"),
    (row(colour="plum"), "glass_unknown", "family"),
    (row(colour="plum", family="soft 99", form="frit", mass="2"), "family_unknown", "family"),
    (row(colour="fern", family="hard 104", mass="2"), "glass_unknown", "form"),
    (row(family="soft 90", maker="Mill", code="s-204", colour="plum", form="sheet", thickness="3",
         length="5", width="5", pieces="1"), "code_of_another", "code"),
    (row(colour="moss", form="brick"), "not_one_of", "form"),
    (row(colour="moss", thickness="0"), "beyond", "thickness"),
    (row(code="s-204"), "missing", "length"),
    (row(code="s-204", length="500", width="400"), "missing", "pieces"),
    (row(code="s-204", length="6000", width="400", pieces="1"), "beyond", "length"),
    (row(code="s-204", length="500", width="400", pieces="0"), "beyond", "pieces"),
    (row(code="s-204", length="500", width="400", pieces="1.5"), "not_whole", "pieces"),
    (row(code="s-204", size="large", pieces="1"), "not_a_size", "size"),
    (row(colour="fern"), "missing", "mass"),
    (row(colour="fern", pieces="2"), "measured_otherwise", "pieces"),
    (row(colour="reed", pieces="2", metres="3"), "two_amounts", "pieces"),
    (row(colour="reed", mass="3"), "measured_otherwise", "mass"),
    (row(colour="fern", mass="0.0001"), "beyond", "mass"),
    (row(colour="fern", mass="1.0001"), "too_fine", "mass"),
    (row(colour="fern", mass="2", price="£5"), "other_currency", "price"),
    (row(colour="fern", mass="2", price="5", currency="USD"), "other_currency", "currency"),
    (row(colour="fern", mass="2", price="-5"), "beyond", "price"),
    (row(colour="fern", mass="2", price="5.12345"), "too_many_decimals", "price"),
    (row(colour="fern", mass="2", received="2026-05-05"), "still_to_come", "received"),
    (row(colour="fern", mass="2", place="x" * 81), "too_long", "place"),
    (row(lot="9"), "lot_unknown", "lot"),
    (row(lot="7.5"), "lot_unknown", "lot"),
    (row(lot="seven"), "not_a_number", "lot"),
    (row(lot="7", colour="fern"), "lot_of_other_glass", "colour"),
    (row(lot="7", family="hard 104"), "lot_of_other_glass", "family"),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "code", "column"), REFUSALS)
def test_refused_rows_say_why(
    judge: ShelfJudge, cells: dict[str, str], code: str, column: str
) -> None:
    judged = judge.judge(2, cells)
    assert judged.fate == REFUSED
    assert judged.reason is not None
    assert (judged.reason.code, judged.reason.column) == (code, column)


def test_one_size_of_a_lot_counts_once(judge: ShelfJudge) -> None:
    asked = row(lot="7", length="500", width="400", pieces="1")
    judge.judge(2, asked)
    again = judge.judge(3, asked)
    assert again.reason is not None
    assert (again.reason.code, again.reason.figures["line"]) == ("counted_twice", "2")


def test_rows_of_one_lot_agree(judge: ShelfJudge) -> None:
    judge.judge(2, row(lot="7", length="500", width="400", pieces="2", place="rack B"))
    other = judge.judge(3, row(lot="7", length="500", width="200", pieces="2", place="rack A"))
    assert other.reason is not None
    assert (other.reason.code, other.reason.column) == ("rows_differ", "place")


def of_glass(*records: GlassRecord) -> GlassJudge:
    known = {record.kind.key or 0: record for record in records}
    return GlassJudge(GlassShelf(("soft 90", "hard 104"), known), Reading())


PLAIN = {"strain": None, "annealing": None, "softening": None, "expansion": None, "note": ""}


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        (row(glass="9"), "glass_number_unknown"),
        (row(code="s-204", strain="2000"), "beyond"),
        (row(code="s-204", strain="500 K"), "unit_unknown"),
        (row(code="s-204", strain="540", annealing="520"), "points_fall"),
        (row(code="s-204", copper="maybe"), "not_yes_or_no"),
        (row(code="s-204", expansion="900"), "beyond"),
        (row(glass="1", form="frit"), "form_has_lots"),
        (row(glass="1", family="soft 99"), "family_unknown"),
    ],
)
def test_refused_rows_of_glass(cells: dict[str, str], code: str) -> None:
    judged = of_glass(GlassRecord(MOSS, PLAIN)).judge(2, cells)
    assert judged.reason is not None
    assert judged.reason.code == code


def test_glass_is_put_right_by_its_code_or_number() -> None:
    judge = of_glass(GlassRecord(MOSS, PLAIN), GlassRecord(FERN, PLAIN))
    by_code = judge.judge(2, row(code="s-204", look="opalescent", softening="1250 °F"))
    by_number = judge.judge(3, row(glass="2", colour="fern green", note="sifts well"))
    again = judge.judge(4, row(glass="2", colour="fern green"))

    assert [change.column for change in by_code.changes] == ["look", "softening"]
    assert by_code.plan.more["softening"] == pytest.approx(676.67, abs=0.01)  # (1250 − 32) / 1.8
    assert by_number.plan.kind.colour == "fern green"
    assert again.reason is not None
    assert again.reason.code == "named_twice"
