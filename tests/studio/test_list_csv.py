"""Every list as a file."""

import csv
import io
from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.lists import saved_lists
from studio.models import Person, Studio
from tests.factories import (
    load_piece,
    make_class,
    make_family,
    make_firing,
    make_glass,
    make_kiln,
    make_lot,
    make_place,
)

Signed = Callable[[Person], Client]


def saved(client: Client, key: str) -> list[dict[str, str]]:
    response = client.get(f"/lists/{key}.csv")
    assert response.status_code == 200
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    assert "\u00a0" not in text
    return list(csv.DictReader(io.StringIO(text), strict=True))


def test_shelf_has_a_row_a_lot_and_size(keeper: Person, signed_in: Signed) -> None:
    sheet = make_lot(keeper, make_glass(code="s-204"), place="rack B")
    frit = make_lot(
        keeper, make_glass(form="frit", thickness_mm=None), amount=1_250_500, size=None, price=None
    )

    of_sheet, of_frit = saved(signed_in(keeper), "shelf")

    assert (of_sheet["lot"], of_sheet["code"], of_sheet["place"]) == (
        str(sheet.pk),
        "s-204",
        "rack B",
    )
    assert [of_sheet[f"{side} (mm)"] for side in ("length", "width", "thickness")] == [
        "500",
        "400",
        "3",
    ]
    assert (of_sheet["pieces"], of_sheet["price"], of_sheet["mass (g)"]) == ("2", "48", "")
    assert (of_frit["lot"], of_frit["mass (g)"], of_frit["price"]) == (str(frit.pk), "1250.5", "")


def test_ledger_tells_who_wrote_it_in_the_studios_zone(keeper: Person, signed_in: Signed) -> None:
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Pacific/Auckland"})
    lot = make_lot(keeper)
    line = lot.movements.get()
    [row] = saved(signed_in(keeper), "movements")
    assert (row["by"], row["what"], row["amount"], row["in"]) == ("Mads", "received", "4000", "cm²")
    assert row["at"][11:13] != f"{line.written_at:%H}"


def test_formula_in_a_name_stays_text(keeper: Person, signed_in: Signed) -> None:
    make_family("=1+1")
    [row] = saved(signed_in(keeper), "families")
    assert row["family"] == "'=1+1"


def test_only_a_keeper_saves_the_list_of_people(
    keeper: Person, artist: Person, signed_in: Signed
) -> None:
    assert signed_in(artist).get("/lists/people.csv").status_code == 403
    assert "people.csv" not in signed_in(artist).get("/lists/").text
    assert "people.csv" not in signed_in(artist).get("/people/").text
    assert {row["signs in as"] for row in saved(signed_in(keeper), "people")} == {"inka", "mads"}


def test_unknown_list_is_missing(keeper: Person, signed_in: Signed) -> None:
    assert signed_in(keeper).get("/lists/nothing.csv").status_code == 404


@pytest.mark.parametrize("key", sorted(saved_lists()))
def test_more_rows_ask_no_more_queries(key: str, keeper: Person, signed_in: Signed) -> None:
    def grow(number: int) -> None:
        family = make_family(f"soft {number}")
        make_lot(keeper, make_glass(family=family))
        make_place(make_kiln(f"Kiln {number}"))
        make_class(keeper, name=f"Class {number}")
        load_piece(make_firing(keeper, state="opened"))

    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            rows = saved(browser, key)
        assert rows
        return len(seen)

    browser = signed_in(keeper)
    grow(1)
    asked()
    few = asked()
    for number in range(2, 5):
        grow(number)
    assert asked() == few


def test_each_list_page_links_its_file(keeper: Person, signed_in: Signed) -> None:
    browser = signed_in(keeper)
    index = browser.get("/lists/").text
    for key, each in saved_lists().items():
        assert f"/lists/{key}.csv" in index, each.title
    for page, key in (("/glass/", "glass"), ("/glass/shelf/", "shelf"), ("/kilns/", "kilns")):
        assert f"/lists/{key}.csv" in browser.get(page).text
