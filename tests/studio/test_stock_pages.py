from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from studio.models import GlassLot, Person, StockMovement
from studio.services.stock import Rectangle
from tests.factories import make_family, make_glass, make_lot, make_person

Signed = Callable[[Person], Client]


@pytest.fixture
def lot(keeper: Person) -> GlassLot:
    return make_lot(keeper)


def received(**overrides: Any) -> dict[str, Any]:
    return {
        "size": "500 x 400",
        "amount": "3",
        "received_on": "2026-05-04",
        "supplier": "the mill",
        "price": "54.00",
    } | overrides


def test_sheet_is_put_on_the_shelf(artist: Person, signed_in: Signed) -> None:
    kind = make_glass()

    page = signed_in(artist).post(f"/glass/{kind.pk}/receive/", received(), follow=True)

    lot = kind.lots.get()
    assert (lot.remaining, lot.currency, lot.supplier) == (3 * 200_000, "EUR", "the mill")
    assert "6000 cm²" in page.text
    assert "3 of 500 × 400 mm" in page.text


def test_rod_is_counted_or_measured_as_its_first_lot_says(
    artist: Person, signed_in: Signed
) -> None:
    kind, browser = make_glass(form="rod", thickness_mm=6.0), signed_in(artist)
    asked = received(measure="length", amount="1.25")

    browser.post(f"/glass/{kind.pk}/receive/", asked)
    page = browser.get(f"/glass/{kind.pk}/receive/")

    assert kind.lots.get().remaining == 1250
    assert "Counted in" not in page.text
    assert "How much, m" in page.text


@pytest.mark.parametrize("wrong", ["500", "0 x 400", "500 x 9000", "a x b"])
def test_a_size_that_is_none_is_told_at_its_field(
    wrong: str, artist: Person, signed_in: Signed
) -> None:
    kind = make_glass()
    page = signed_in(artist).post(f"/glass/{kind.pk}/receive/", received(size=wrong))
    assert "like 180 × 120" in str(page.context["form"].errors["size"])
    assert 'value="the mill"' in page.text
    assert not kind.lots.exists()


def test_form_sent_twice_makes_one_lot(artist: Person, signed_in: Signed) -> None:
    kind, browser, asked = make_glass(), signed_in(artist), received(form_key=uuid4())
    for _ in range(2):
        browser.post(f"/glass/{kind.pk}/receive/", asked)
    assert kind.lots.count() == 1


def test_student_cuts_and_the_offcut_comes_back(
    lot: GlassLot, student: Person, signed_in: Signed
) -> None:
    asked = {"sheet": "500x400", "wanted": "180 × 120", "back": "400 × 320", "reason": "bowl"}

    page = signed_in(student).post(f"/glass/shelf/lots/{lot.pk}/cut/", asked, follow=True)

    assert {each.rectangle: each.pieces for each in lot.sizes.all()} == {
        Rectangle(500, 400): 1,
        Rectangle(400, 320): 1,
    }
    assert "offcut returned" in page.text


def test_who_takes_too_much_is_told_and_led_to_the_count(keeper: Person, signed_in: Signed) -> None:
    kind = make_glass(form="frit", thickness_mm=None)
    lot = make_lot(keeper, kind, amount=5000, size=None)
    browser = signed_in(keeper)

    page = browser.post(f"/glass/shelf/lots/{lot.pk}/cut/", {"amount": "7.5", "reason": "bowl"})
    assert "Only 5 g is there, 7.5 g is asked for" in page.text
    assert f"/glass/shelf/lots/{lot.pk}/count/" in page.text
    assert 'value="bowl"' in page.text

    browser.post(f"/glass/shelf/lots/{lot.pk}/count/", {"amount": "9"})
    browser.post(f"/glass/{kind.pk}/take/", {"amount": "7.5"})
    lot.refresh_from_db()
    assert lot.remaining == 1500


def test_broken_counted_and_returned(lot: GlassLot, keeper: Person, signed_in: Signed) -> None:
    browser, base = signed_in(keeper), f"/glass/shelf/lots/{lot.pk}"

    browser.post(f"{base}/take/", {"size": "500x400", "amount": "1", "what": "broken"})
    browser.post(f"{base}/return/", {"size": "200 x 300", "amount": "1"})
    browser.post(f"{base}/count/", {"size": "500 x 400", "amount": "0"})

    assert [each.rectangle for each in lot.sizes.all()] == [Rectangle(300, 200)]
    assert [line.what for line in lot.movements.order_by("pk")] == [
        "received",
        "broken",
        "offcut",
        "counted",
    ]


def test_line_is_taken_back_by_a_line_of_its_own(
    lot: GlassLot, keeper: Person, signed_in: Signed
) -> None:
    browser = signed_in(keeper)
    browser.post(f"/glass/shelf/lots/{lot.pk}/cut/", {"sheet": "500x400"})
    line = StockMovement.objects.get(what="cut")

    for told in ("A counter-movement is written", "taken back already"):
        address = f"/glass/shelf/movements/{line.pk}/take-back/"
        assert told in browser.post(address, follow=True).text
    lot.refresh_from_db()
    assert lot.remaining == lot.received


def test_offcuts_are_found_either_way_round(
    lot: GlassLot, keeper: Person, signed_in: Signed
) -> None:
    make_lot(keeper, lot.kind, size=Rectangle(130, 190), place="rack C")
    make_lot(keeper, lot.kind, size=Rectangle(600, 110), place="rack D")

    page = signed_in(keeper).get("/glass/shelf/?size=180+x+120")

    assert page.text.index("190 × 130") < page.text.index("500 × 400")
    assert "rack D" not in page.text
    assert "No such sheet" in signed_in(keeper).get("/glass/shelf/?size=900x900").text


def test_shelf_is_searched(lot: GlassLot, keeper: Person, signed_in: Signed) -> None:
    other = make_glass(colour="plum", family=make_family("Other 96"), thickness_mm=4.0)
    make_lot(keeper, other)
    browser = signed_in(keeper)
    for asked in ("words=plum", f"family={other.family_id}", "thickness=4"):
        page = browser.get(f"/glass/shelf/?{asked}")
        assert "plum sheet" in page.text, asked
        assert "sea green sheet" not in page.text, asked


def test_what_runs_low_stands_on_the_shopping_list(
    lot: GlassLot, keeper: Person, signed_in: Signed
) -> None:
    browser = signed_in(keeper)
    assert "Nothing runs low" in browser.get("/glass/shelf/low/").text

    browser.post(f"/glass/{lot.kind_id}/level/", {"low_below": "5000"})
    assert "5000 cm²" in browser.get("/glass/shelf/low/").text
    assert "runs low" in browser.get("/glass/shelf/?low=on").text

    browser.post(f"/glass/{lot.kind_id}/level/", {"low_below": ""})
    assert "Nothing runs low" in browser.get("/glass/shelf/low/").text


@pytest.mark.parametrize("address", ["/glass/shelf/", "/glass/shelf/?size=10x10", "lot"])
def test_more_rows_ask_no_more(
    address: str,
    lot: GlassLot,
    keeper: Person,
    signed_in: Signed,
    django_assert_max_num_queries: Any,
) -> None:
    for number in range(12):
        make_lot(keeper, make_glass(family=lot.kind.family, colour=f"c{number}"))
        signed_in(keeper).post(f"/glass/shelf/lots/{lot.pk}/return/", {})
    if address == "lot":
        address = f"/glass/shelf/lots/{lot.pk}/"
    browser = signed_in(keeper)
    browser.get(address)
    with django_assert_max_num_queries(10):
        browser.get(address)


def test_check_tells_of_a_sum_that_differs(lot: GlassLot, capsys: Any) -> None:
    call_command("stock_check")
    assert "agree" in capsys.readouterr().out
    GlassLot.objects.filter(pk=lot.pk).update(remaining=1)
    with pytest.raises(CommandError, match=str(lot.pk)):
        call_command("stock_check")


def test_another_students_line_is_not_taken_back(lot: GlassLot, signed_in: Signed) -> None:
    line = lot.movements.get()
    browser = signed_in(make_person("tove", role="student"))
    assert browser.post(f"/glass/shelf/movements/{line.pk}/take-back/").status_code == 403
