"""A list is brought in on a phone, from its file to its report; another is stopped half-way."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from studio.actions.list_run import run_beside
from studio.models import GlassLot, StockMovement
from tests.browser.accessibility import violations
from tests.browser.conftest import PHONE
from tests.factories import make_family, make_glass, make_lot, make_person
from tests.studio.lists.bringing import begun, sheets
from tests.studio.lists.slow_shelf import slow_shelf

FILE = (
    "Farbe;Glass family;Form;Weight (kg);Lot;Pieces;Size\r\n"
    "fern;soft 90;frit;1,5;;;\r\n"
    "moss;;;;{lot};1;500 x 400\r\n"
    "plum;hard 104;frit;2;;;\r\n"
)


def test_from_the_file_to_the_report(open_page: Callable[..., Page], tmp_path: Path) -> None:
    keeper = make_person("mads", role="keeper")
    lot = make_lot(keeper, make_glass(colour="moss"))
    file = tmp_path / "shelf.csv"
    file.write_text(FILE.format(lot=lot.pk))
    page = open_page(keeper, viewport=PHONE)

    page.goto("/glass/shelf/")
    page.get_by_role("link", name="Bring in a file").click()
    page.get_by_label("The file").set_input_files(file)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_label("Weight (kg)")).to_have_value("mass")
    expect(page.get_by_label("Decimals are written")).to_have_value(",")
    expect(page.get_by_label("Farbe")).to_have_value("")
    page.get_by_label("Farbe").select_option("colour")
    page.get_by_role("button", name="Show what becomes of each row").click()

    expect(page.get_by_text("No family is called “hard 104”")).to_be_visible()
    expect(page.get_by_text("pieces: 2 → 1")).to_be_visible()
    expect(page.get_by_text("mass 1500")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert StockMovement.objects.count() == 1
    page.get_by_role("button", name="Bring in 2 rows").click()
    expect(page.get_by_text("Brought in on")).to_be_visible(timeout=30_000)

    lot.refresh_from_db()
    assert lot.remaining == 200_000
    assert GlassLot.objects.get(kind__colour="fern").remaining == 1_500_000
    page.goto("/lists/")
    expect(page.get_by_role("listitem").filter(has_text="shelf.csv")).to_contain_text("brought in")


@pytest.mark.parametrize("scripts", [True, False])
def test_stopped_half_way(open_page: Callable[..., Page], scripts: bool) -> None:
    with slow_shelf() as shelf:
        make_family()
        keeper = make_person("mads", role="keeper")
        page = open_page(keeper, viewport=PHONE, scripts=scripts)  # a sign-in would wait for it
        taken = begun(keeper, sheets(1200))
        run_beside(taken)
        assert shelf.half_way.wait(30)
        page.goto(f"/lists/brought/{taken.pk}/")
        expect(page.get_by_role("progressbar")).to_be_visible()
        if scripts:
            found: list[Any] = violations(page)
            assert found == []
        page.get_by_role("button", name="Stop it").click()
        expect(page.get_by_text("nothing of it will stay")).to_be_visible()
        shelf.go_on.set()
        if not scripts:
            expect_over(page)
        expect(page.get_by_text("Nothing of it was written")).to_be_visible(timeout=30_000)

        assert not GlassLot.objects.exists()


def expect_over(page: Page) -> None:
    """Without script one looks again oneself."""
    for _ in range(100):
        again = page.get_by_role("link", name="Look again how far it is")
        if not again.count():
            return
        again.click()
        page.wait_for_timeout(100)
