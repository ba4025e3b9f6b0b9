from collections.abc import Callable

import pytest
import segno
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studio.actions.stock import stock_cut
from studio.models import GlassLot, LotLabel, Person
from studio.queries import labels as queries
from studio.services.stock import Rectangle
from tests.factories import make_family, make_glass, make_lot

Signed = Callable[[Person], Client]
LABELS = "/glass/shelf/labels/"


@pytest.fixture
def lot(keeper: Person) -> GlassLot:
    """Two whole sheets of 500 × 400 mm and two offcuts of 200 × 150 mm."""
    kind = make_glass(colour="amber", code="M-052", family=make_family("Millrace 90"))
    lot = make_lot(keeper, kind, amount=3, batch="B7", place="rack B")
    offcut = Rectangle(200, 150)
    stock_cut(lot=lot, by=keeper, sheet=Rectangle(500, 400), offcuts=[offcut, offcut])
    return lot


def test_label_says_what_it_is_and_keeps_its_code(
    lot: GlassLot, student: Person, signed_in: Signed
) -> None:
    browser = signed_in(student)

    first, second = (browser.get(LABELS, {"lot": lot.pk, "each": "lot"}) for _ in range(2))

    (label,) = LotLabel.objects.all()
    (printed,) = first.context["labels"]
    address = f"http://testserver/g/{label.code}/"
    drawn = segno.make(address, error="m").svg_inline(border=4, light="#fff", omitsize=True)
    assert printed.name == "amber sheet 3 mm (M-052)"
    assert printed.lines == ["Millrace 90", f"{lot}, batch B7", "rack B"]
    assert printed.address == second.context["labels"][0].address == address
    assert drawn in first.text


@pytest.mark.parametrize(
    ("each", "sizes"),
    [
        ("size", ["500 × 400 mm", "200 × 150 mm"]),
        ("piece", ["500 × 400 mm"] * 2 + ["200 × 150 mm"] * 2),
    ],
)
def test_each_size_or_piece_has_a_label_with_the_lots_code(
    each: str, sizes: list[str], lot: GlassLot, artist: Person, signed_in: Signed
) -> None:
    page = signed_in(artist).get(LABELS, {"lot": lot.pk, "each": each})

    made = page.context["labels"]
    assert [label.lines[1].replace("\u00a0", " ") for label in made] == sizes
    assert len({label.address for label in made}) == 1


def test_all_of_a_kind_are_ticked_until_some_are_named(
    lot: GlassLot, keeper: Person, signed_in: Signed
) -> None:
    frit = make_lot(keeper, make_glass(form="frit", thickness_mm=None), amount=5000, size=None)
    more = make_lot(keeper, lot.kind, place="rack C")
    browser = signed_in(keeper)

    of_kind = browser.get(LABELS, {"kind": lot.kind_id})
    named = browser.get(LABELS, {"kind": lot.kind_id, "lot": [frit.pk, more.pk]})

    assert [label.lines[-1] for label in of_kind.context["labels"]].count("rack C") == 1
    assert len(of_kind.context["labels"]) == 3
    assert {label.name for label in named.context["labels"]} == {str(frit.kind), str(more.kind)}
    assert browser.get(LABELS).context["labels"] == []


@pytest.mark.parametrize("asked", [{"lot": "9999"}, {"lot": "x"}, {"each": "gross"}])
def test_what_is_not_on_offer_is_told(
    asked: dict[str, str], lot: GlassLot, artist: Person, signed_in: Signed
) -> None:
    page = signed_in(artist).get(LABELS, asked)
    assert page.context["labels"] == []
    assert page.context["form"].errors
    assert signed_in(artist).get(LABELS, {"kind": "9999"}).status_code == 404


def test_a_sheet_of_labels_is_bounded_and_says_so(
    lot: GlassLot, artist: Person, signed_in: Signed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(queries, "MOST_LABELS", 3)
    page = signed_in(artist).get(LABELS, {"lot": lot.pk, "each": "piece"})
    assert len(page.context["labels"]) == 3
    assert "the first 3 labels" in page.text


def test_code_leads_to_the_lot_after_a_sign_in(
    lot: GlassLot, student: Person, outsider: Client, signed_in: Signed
) -> None:
    address = f"/g/{LotLabel.objects.create(lot=lot).code}/"

    assert outsider.get(address).headers["Location"].endswith(f"?next={address}")
    opened = signed_in(student).get(address)
    assert opened.headers["Location"] == f"/glass/shelf/lots/{lot.pk}/"
    assert signed_in(student).get("/g/nosuchcode/").status_code == 404


def test_glass_and_lot_lead_to_their_labels(
    lot: GlassLot, artist: Person, signed_in: Signed
) -> None:
    browser = signed_in(artist)
    assert f'"{LABELS}?kind={lot.kind_id}"' in browser.get(f"/glass/{lot.kind_id}/").text
    assert f'"{LABELS}?lot={lot.pk}"' in browser.get(f"/glass/shelf/lots/{lot.pk}/").text
    assert f'"{LABELS}"' in browser.get("/glass/shelf/").text


def test_more_lots_ask_no_more(lot: GlassLot, keeper: Person, signed_in: Signed) -> None:
    browser, asked = signed_in(keeper), {"kind": lot.kind_id, "each": "piece"}

    def queries_asked() -> int:
        browser.get(LABELS, asked)
        with CaptureQueriesContext(connection) as found:
            browser.get(LABELS, asked)
        return len(found)

    few = queries_asked()
    for _ in range(6):
        make_lot(keeper, lot.kind)
    assert queries_asked() == few
    assert few <= 9
