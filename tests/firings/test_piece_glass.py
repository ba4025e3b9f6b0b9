"""The glass of a loaded piece: off the shelf with the load, back when it is called off."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from firings.actions.glass_use import glass_take
from firings.actions.record import firing_call_off
from firings.models import Firing, GlassUse, LoadedPiece, Piece
from firings.queries.glass_use import glass_taken
from studio.actions import stock
from studio.models import GlassLot, Person
from studio.queries.stock import lots_that_differ
from studio.services.stock import Rectangle
from tests.factories import load_piece, make_firing, make_glass, make_lot

SHEET, LAYER = Rectangle(500, 400), Rectangle(180, 120)

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(signed_in: Callable[[Person], Client], artist: Person) -> Client:
    return signed_in(artist)


@pytest.fixture
def lot(artist: Person) -> GlassLot:
    return make_lot(artist, amount=1)


@pytest.fixture
def firing(artist: Person) -> Firing:
    return make_firing(artist)


def written(lot: GlassLot, **overrides: object) -> dict[str, object]:
    return {
        "title": "Tide bowl",
        "maker": "",
        "glass": lot.kind_id,
        "layers": 2,
        "length_mm": 180,
        "width_mm": 120,
        "off_shelf": "on",
        "is_served": "on",
    } | overrides


def put_in(browser: Client, firing: Firing, lot: GlassLot, **overrides: object) -> str:
    address = reverse("firings:piece_add", args=[firing.pk])
    given = written(lot, maker=firing.fired_by_id, **overrides)
    return browser.post(address, given, follow=True).content.decode()


def left(lot: GlassLot) -> dict[Rectangle, int]:
    return {each.rectangle: each.pieces for each in lot.sizes.all()}


def test_saving_a_piece_takes_its_layers_off_the_shelf(
    browser: Client, firing: Firing, lot: GlassLot
) -> None:
    page = put_in(browser, firing, lot)

    assert "Off the shelf: sea green sheet 3 mm, 2 of 180 × 120 mm" in page
    # Both layers out of one sheet: the second out of the strip that the first left.
    assert SHEET not in left(lot)
    assert GlassUse.objects.get().layers == 2
    assert not lots_that_differ()


def test_too_little_is_told_and_what_was_typed_stays(
    browser: Client, firing: Firing, lot: GlassLot
) -> None:
    page = put_in(browser, firing, lot, length_mm=450, width_mm=380)

    assert "1 of 2 layers of 450 × 380 mm can be cut" in page
    assert "There is more than the book says" in page
    assert 'value="Tide bowl"' in page
    assert not firing.load.exists()
    assert left(lot) == {SHEET: 1}


def test_a_count_is_written_where_there_is_more(
    browser: Client, firing: Firing, lot: GlassLot
) -> None:
    put_in(browser, firing, lot, length_mm=450, width_mm=380, count_up="on")

    assert lot.movements.filter(what="counted").get().pieces == 1
    assert firing.load.get().glass_uses.get().layers == 2
    assert not lots_that_differ()


def test_changed_layers_are_taken_anew(browser: Client, firing: Firing, lot: GlassLot) -> None:
    put_in(browser, firing, lot)
    loaded = firing.load.get()

    browser.post(reverse("firings:piece_edit", args=[loaded.pk]), written(lot, layers=1))

    (use,) = GlassUse.objects.filter(given_back_at=None)
    assert use.layers == 1
    assert sum(left(lot).values()) == 2  # the two offcuts of one cut
    assert not lots_that_differ()


def test_unticked_gives_it_back(browser: Client, firing: Firing, lot: GlassLot) -> None:
    put_in(browser, firing, lot)
    loaded = firing.load.get()

    given = written(lot)
    del given["off_shelf"]
    browser.post(reverse("firings:piece_edit", args=[loaded.pk]), given)

    assert left(lot) == {SHEET: 1}


@pytest.mark.parametrize("how", ["call_off", "take_out"])
def test_what_is_not_fired_lies_on_the_shelf_again(
    browser: Client, firing: Firing, lot: GlassLot, how: str
) -> None:
    put_in(browser, firing, lot)
    if how == "call_off":
        browser.post(reverse("firings:firing_call_off", args=[firing.pk]), {"reason": "ill"})
    else:
        browser.post(reverse("firings:piece_remove", args=[firing.load.get().pk]))

    assert left(lot) == {SHEET: 1}
    assert not GlassUse.objects.filter(given_back_at=None).exists()
    assert not lots_that_differ()


def test_size_that_is_not_written_is_asked_for(
    browser: Client, firing: Firing, lot: GlassLot
) -> None:
    page = put_in(browser, firing, lot, width_mm="")

    assert "Nothing was taken off the shelf: its length and width" in page
    assert firing.load.exists()


def test_glass_without_lots_is_nobodys_business(browser: Client, firing: Firing) -> None:
    page = put_in(browser, firing, lot=GlassLot(kind=make_glass(colour="plum")))
    assert "off the shelf:" not in page
    assert firing.load.exists()


def test_other_glass_is_taken_on_a_page_of_its_own(
    browser: Client, firing: Firing, artist: Person
) -> None:
    frit = make_lot(
        artist,
        make_glass(form="frit", thickness_mm=None),
        amount=500_000,
        size=None,
        price=Decimal(20),
    )
    loaded = load_piece(firing)
    address = reverse("firings:piece_glass", args=[loaded.pk]) + f"?kind={frit.kind_id}"

    page = browser.post(address, {"amount": "40"}, follow=True).content.decode()

    assert "40 g" in page
    assert "1.60 EUR" in page  # 20 for 500 g
    frit.refresh_from_db()
    assert frit.remaining == 460_000


def test_casting_is_weighed_by_its_footprint_and_thickness(
    browser: Client, firing: Firing, artist: Person
) -> None:
    billet = make_lot(
        artist, make_glass(form="billet", thickness_mm=None), amount=5_000_000, size=None
    )
    put_in(browser, firing, billet, length_mm=100, width_mm=100, thickest_mm=20, thinnest_mm=20)
    # 0.1 m × 0.1 m × 0.02 m × 2530 kg/m³ = 0.506 kg
    billet.refresh_from_db()
    assert billet.remaining == 5_000_000 - 506_000


def test_given_back_twice_is_told(browser: Client, firing: Firing, lot: GlassLot) -> None:
    put_in(browser, firing, lot)
    address = reverse("firings:glass_give_back", args=[GlassUse.objects.get().pk])
    browser.post(address)

    assert "on the shelf again already" in browser.post(address, follow=True).content.decode()
    assert left(lot) == {SHEET: 1}


def test_wrong_input_names_field_and_limit(browser: Client, firing: Firing, lot: GlassLot) -> None:
    address = reverse("firings:piece_glass", args=[load_piece(firing).pk])
    asked = f"{address}?kind={lot.kind_id}"

    page = browser.post(asked, {"size": "18 by 12", "layers": "41"}).content.decode()

    assert "Write two sides in mm" in page
    assert "less than or equal to 40" in page
    assert browser.get(f"{address}?kind=999999").status_code == 404


def test_cost_is_that_of_the_lot_less_its_offcuts(firing: Firing, artist: Person) -> None:
    """A sheet of 500 × 400 for 40.00; of the cut 180 × 120, 400 × 380 and 220 × 120 go back, so
    500·400 − 400·380 − 220·120 = 21 600 mm² are gone: 21 600 / 200 000 × 40 = 4.32."""
    lot = make_lot(artist, amount=1, price=Decimal(40))
    loaded = load_piece(firing)
    glass_take(loaded=loaded, kind=lot.kind, by=artist, size=LAYER, layers=1)

    (taken,) = glass_taken([loaded])[loaded.pk]

    assert taken.amount == 21_600
    assert taken.cost == Decimal("4.32")


def test_lot_without_price_has_no_cost(firing: Firing, artist: Person) -> None:
    lot = make_lot(artist, price=None)
    loaded = load_piece(firing)
    glass_take(loaded=loaded, kind=lot.kind, by=artist, size=LAYER)
    assert glass_taken([loaded])[loaded.pk][0].cost is None


def test_queries_of_the_load_stay_with_more_pieces(
    browser: Client, firing: Firing, artist: Person, django_assert_max_num_queries: object
) -> None:
    lot = make_lot(artist, amount=8)

    def add() -> LoadedPiece:
        loaded = load_piece(firing)
        glass_take(loaded=loaded, kind=lot.kind, by=artist, size=LAYER)
        return loaded

    loads = [add()]
    with django_assert_max_num_queries(4):  # type: ignore[operator]
        glass_taken(loads)
    loads += [add() for _ in range(5)]
    with django_assert_max_num_queries(4):  # type: ignore[operator]
        assert len(glass_taken(loads)) == 6


def test_calling_off_after_an_offcut_went_gives_the_blanks_back(
    firing: Firing, artist: Person, lot: GlassLot
) -> None:
    loaded = load_piece(firing)
    glass_take(loaded=loaded, kind=lot.kind, by=artist, size=LAYER)
    stock.stock_take(lot=lot, by=artist, what="cut", amount=1, size=Rectangle(400, 380))

    firing_call_off(firing=firing, by=artist)

    assert left(lot) == {LAYER: 1, Rectangle(220, 120): 1}
    assert not lots_that_differ()


def test_a_piece_that_was_fired_takes_its_glass_once(
    browser: Client, firing: Firing, artist: Person, lot: GlassLot
) -> None:
    put_in(browser, firing, lot)
    piece, standing = firing.load.get().piece, left(lot)
    again = make_firing(artist)

    put_in(browser, again, lot, title="", piece=piece.pk)

    assert again.load.get().piece == piece
    assert left(lot) == standing
    address = reverse("firings:piece_add", args=[make_firing(artist).pk])
    assert browser.get(address).context["form"]["off_shelf"].value() is True
    offered = browser.get(f"{address}?piece={piece.pk}").context["form"]
    assert offered["off_shelf"].value() is False


def test_a_piece_that_only_waited_takes_its_glass(
    browser: Client, firing: Firing, artist: Person, lot: GlassLot
) -> None:
    piece = Piece.objects.create(title="Waits", maker=artist)
    put_in(browser, firing, lot, title="", piece=piece.pk)
    assert firing.load.get().glass_uses.get().layers == 2
