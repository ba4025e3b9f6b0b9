"""From a file to what it brings in, as a person goes through its pages."""

import csv
import io
from collections.abc import Callable
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from studio.actions.list_import import list_begin
from studio.actions.list_run import list_run
from studio.actions.stock import stock_take
from studio.formats import plain
from studio.models import GlassLot, ListImport, Person
from tests.factories import make_family, make_glass, make_lot, make_person
from tests.studio.lists.bringing import (
    SHELF_HEADER,
    brought_in,
    csv_file,
    previewed,
    sheets,
    wait_for,
)

Signed = Callable[[Person], Client]
BRING = "/lists/shelf/bring/"


def sent(raw: bytes, name: str = "shelf.csv") -> dict[str, object]:
    return {"file": SimpleUploadedFile(name, raw), "form_key": str(uuid4())}


def column_choices(page: object) -> dict[str, object]:
    form = page.context["form"]  # type: ignore[attr-defined]
    return {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}


MIXED = csv_file(
    SHELF_HEADER,
    ("soft 90", "s-1", "moss", "sheet", "3", "500", "400", "2", "", "48"),
    ("hard 104", "s-2", "plum", "sheet", "3", "500", "400", "2", "", "48"),
    ("soft 90", "", "fern", "frit", "", "", "", "", "1,5 kg", "12,50 €"),
)


def test_file_is_matched_looked_at_and_told_row_by_row(keeper: Person, signed_in: Signed) -> None:
    make_family()
    browser = signed_in(keeper)

    page = browser.post(BRING, sent(MIXED), follow=True)
    assert "Which column is which?" in page.text
    assert "In it: s-1, s-2" in page.text
    page = browser.post(page.request["PATH_INFO"], column_choices(page), follow=True)

    assert page.text.index("refused</span>") < page.text.index("moss sheet 3 mm (s-1)")
    assert "No family is called “hard 104”" in page.text
    assert "Bring in 2 rows" in page.text
    assert not GlassLot.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_whoever_agrees_gets_all_but_the_refused_rows(signed_in: Signed) -> None:
    keeper = make_person("mads", role="keeper")
    make_family()
    taken = previewed(keeper, MIXED)
    browser = signed_in(keeper)

    page = browser.post(f"/lists/brought/{taken.pk}/run/", follow=True)
    assert page.status_code == 200
    wait_for(taken)

    page = browser.get(f"/lists/brought/{taken.pk}/")
    assert "Brought in on" in page.text
    assert GlassLot.objects.count() == 2
    assert GlassLot.objects.get(kind__colour="fern").remaining == 1_500_000


def test_refused_rows_are_saved_with_why_and_brought_in_by_themselves(
    keeper: Person, signed_in: Signed
) -> None:
    make_family()
    taken = brought_in(keeper, MIXED)

    answer = signed_in(keeper).get(f"/lists/brought/{taken.pk}/refused.csv")
    text = b"".join(answer.streaming_content).decode("utf-8-sig")  # type: ignore[attr-defined]
    [row] = csv.DictReader(io.StringIO(text))
    assert (row["line"], row["code"]) == ("3", "s-2")
    assert row["refused because"].startswith("No family is called “hard 104”")

    make_family("hard 104")
    again = brought_in(keeper, text.encode())
    assert again.fates == {"refused": 0, "changed": 0, "new": 1, "same": 0}


def test_columns_said_once_are_remembered_for_such_headers(
    keeper: Person, signed_in: Signed
) -> None:
    make_family()
    header = ("fam", "hue", "shape", "grams there")
    raw = csv_file(header, ("soft 90", "moss", "frit", "250"))
    browser = signed_in(keeper)
    page = browser.post(BRING, sent(raw), follow=True)
    chosen = {"column_0": "family", "column_1": "colour", "column_2": "form", "column_3": "mass"}
    browser.post(page.request["PATH_INFO"], column_choices(page) | chosen)

    other = csv_file(header, ("soft 90", "fern", "frit", "125"))
    page = browser.post(BRING, sent(other), follow=True)

    assert {**column_choices(page)} == chosen | {"decimal": ".", "day_first": "day"}


def test_one_column_twice_is_told_at_its_field(keeper: Person, signed_in: Signed) -> None:
    browser = signed_in(keeper)
    raw = csv_file(("colour", "colour"), ("moss", "fern"))
    page = browser.post(BRING, sent(raw), follow=True)
    twice = column_choices(page) | {"column_0": "colour", "column_1": "colour"}

    page = browser.post(page.request["PATH_INFO"], twice)

    assert "“colour (1 of 2)” is that already" in str(page.context["form"].errors["column_1"])
    assert not ListImport.objects.get().fates


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"", "empty"),
        (b"colour,form\r\n", "no row beneath its headers"),
        (b"%PDF-1.7 whatever", "no table of text"),
        (b"\xd0\xcf\x11\xe0 old", "XLS"),
        (b"PK\x03\x04 no zip", "damaged workbook"),
        (b"colour,form\r\n" + b"moss,frit\r\n" * 50_001, "more than 50000 rows"),
        (b",".join([b"x"] * 61) + b"\r\n" + b",".join([b"1"] * 61), "more than 60 columns"),
        (b'colour,form\r\n"moss,frit\r\n' + b"x" * 21000, "line 2: a cell has more than 20000"),
        (b"colour,form\r\n" + b"x" * 10 * 2**20, "at most 10.0 MB"),
    ],
)
def test_file_that_is_no_list_is_told_at_its_field(
    raw: bytes, told: str, keeper: Person, signed_in: Signed
) -> None:
    page = signed_in(keeper).post(BRING, sent(raw, "stock.csv"))
    assert told in plain(str(page.context["form"].errors["file"]))
    assert not ListImport.objects.exists()


def test_file_sent_twice_is_taken_in_once(keeper: Person, signed_in: Signed) -> None:
    browser, asked = signed_in(keeper), sent(MIXED)
    for _ in range(2):
        asked["file"] = SimpleUploadedFile("shelf.csv", MIXED)
        browser.post(BRING, asked)
    assert ListImport.objects.count() == 1


def test_the_same_file_again_is_warned_of(keeper: Person, signed_in: Signed) -> None:
    make_family()
    raw = sheets(2)
    brought_in(keeper, raw)
    page = signed_in(keeper).get(f"/lists/brought/{previewed(keeper, raw).pk}/")
    assert "This very file was brought in by Mads" in page.text


def test_what_was_looked_at_is_cancelled(keeper: Person, signed_in: Signed) -> None:
    make_family()
    taken = previewed(keeper, sheets(3))
    browser = signed_in(keeper)

    page = browser.post(f"/lists/brought/{taken.pk}/cancel/", follow=True)
    assert "Cancelled" in page.text
    page = browser.post(f"/lists/brought/{taken.pk}/run/", follow=True)
    assert "Look at what becomes of its rows first" in page.text
    assert not GlassLot.objects.exists()


def test_what_changed_meanwhile_is_looked_at_again(keeper: Person, signed_in: Signed) -> None:
    lot = make_lot(keeper, make_glass(form="frit", thickness_mm=None), amount=5000, size=None)
    taken = previewed(keeper, csv_file(("lot", "mass (g)"), (lot.pk, 4)))
    make_lot(keeper, lot.kind, amount=100, size=None)  # of another lot: no matter
    stock_take(lot=lot, by=keeper, what="broken", amount=500)

    taken = list_run(taken=list_begin(taken=taken))
    page = signed_in(keeper).get(f"/lists/brought/{taken.pk}/")
    assert "was changed meanwhile" in page.text
    assert lot.movements.count() == 2

    page = signed_in(keeper).post(f"/lists/brought/{taken.pk}/again/", follow=True)
    assert "mass: 4.5 g → 4 g" in page.text


def test_rows_are_paged_by_fate_with_few_queries(
    keeper: Person, signed_in: Signed, django_assert_max_num_queries: Callable[..., object]
) -> None:
    make_family()
    taken = previewed(keeper, sheets(120))
    browser = signed_in(keeper)
    address = f"/lists/brought/{taken.pk}/"
    assert "page 1 of 3" in browser.get(address).text
    assert "moss 119" in browser.get(f"{address}?fate=new&page=3").text
    assert "moss" not in browser.get(f"{address}?fate=same").text
    with django_assert_max_num_queries(8):
        browser.get(address)


def test_list_of_another_is_out_of_reach(
    keeper: Person, artist: Person, student: Person, signed_in: Signed
) -> None:
    make_family()
    taken = previewed(keeper, sheets(1))
    for person in (artist, student):
        browser = signed_in(person)
        for page in ("", "columns/", "refused.csv"):
            assert browser.get(f"/lists/brought/{taken.pk}/{page}").status_code == 403
        for act in ("run", "cancel", "again"):
            assert browser.post(f"/lists/brought/{taken.pk}/{act}/").status_code == 403
        assert f"/lists/brought/{taken.pk}/" not in browser.get("/lists/").text
    assert signed_in(student).get(BRING).status_code == 403
    assert "Bring in" not in signed_in(student).get("/lists/").text
    assert "Bring in" in signed_in(artist).get("/glass/shelf/").text
