"""Two phones load a kiln: tickets, places, one photograph, and each maker judges their own."""

import io
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from PIL import Image, ImageDraw
from playwright.sync_api import Locator, Page, expect

from firings.actions.labels import piece_labels_ready
from firings.actions.waiting import piece_wait
from firings.models import Firing, FiringState, LoadedPiece, PieceSpot
from studio.models import GlassKind, Person
from tests.browser.conftest import PHONE
from tests.factories import (
    make_firing,
    make_glass,
    make_kiln,
    make_place,
    make_revision,
    make_schedule,
)

OpenPage = Callable[..., Page]
MOST_TAPS = 5


@pytest.fixture
def glass(db: None) -> GlassKind:
    return make_glass()


@pytest.fixture
def firing(instructor: Person, glass: GlassKind) -> Firing:
    kiln = make_kiln()
    make_place(kiln, "left", x_percent=0)
    make_place(kiln, "right", x_percent=100)
    return make_firing(
        instructor,
        kiln=kiln,
        revision=make_revision(make_schedule(instructor, family=glass.family)),
        title="Class of May",
        planned_start=timezone.now() + timedelta(hours=2),
    )


def ticket(maker: Person, glass: GlassKind, title: str) -> str:
    waiting = piece_wait(
        maker=maker, title=title, glass=glass, process="full_fuse", thickest_mm=6.0
    )
    return piece_labels_ready(pieces=[waiting.piece])[0].code


def shelf_file(colour: str) -> dict[str, Any]:
    """A shelf with three discs, as the file of a phone's camera."""
    picture = Image.new("RGB", (1200, 900), "lightgray")
    for x in (250, 600, 950):
        ImageDraw.Draw(picture).ellipse((x - 110, 340, x + 110, 560), colour)
    file = io.BytesIO()
    picture.save(file, "JPEG")
    return {"name": f"{colour}.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}


def tap(picture: Locator, left: float, top: float) -> None:
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    assert box is not None
    picture.click(position={"x": left * box["width"], "y": top * box["height"]})


def test_two_load_one_photographs_and_each_maker_judges(
    firing: Firing, glass: GlassKind, instructor: Person, student: Person, artist: Person,
    open_page: OpenPage,
) -> None:  # fmt: skip
    codes = [ticket(student, glass, "Weir"), ticket(artist, glass, "Ebb")]
    own = ticket(student, glass, "Tide")
    oona, ravi = open_page(instructor, viewport=PHONE), open_page(student, viewport=PHONE)

    # Tickets: a hand scanner types two without waiting; a phone's own camera opens the third.
    oona.goto(reverse("firings:today"))
    oona.get_by_role("link", name="Load together").click()
    oona.wait_for_url("**/load/together/")  # and its script has begun
    for code in ("nonsense", *codes):
        oona.keyboard.type(code)
        oona.keyboard.press("Enter")
    expect(oona.get_by_role("heading", name="2 in it")).to_be_visible()
    expect(oona.locator("#scanned")).to_contain_text("“Ebb” is in.")
    expect(oona.get_by_role("textbox", name="Ticket")).to_be_focused()
    ravi.goto(reverse("firings:piece_code", args=[own]))
    ravi.get_by_role("button", name="Put it in now").click()
    expect(ravi.get_by_text("“Tide” is in.")).to_be_visible()
    expect(oona.get_by_role("heading", name="3 in it")).to_be_visible()  # it asks again by itself

    # What is refused comes back into the field, and can be mended there.
    oona.keyboard.type(own)
    oona.keyboard.press("Enter")
    expect(oona.locator("#scanned")).to_contain_text("“Tide” is in this load already.")
    expect(oona.get_by_role("textbox", name="Ticket")).to_have_value(own)

    # Places on the map: one tap a piece.
    oona.reload()
    for left in (0.1, 0.9, 0.85):
        tap(oona.get_by_role("button", name="Tap on the map"), left, 0.5)
        expect(oona.get_by_text("lies at")).to_be_visible()
    places = LoadedPiece.objects.order_by("pk").values_list("piece__title", "place__name")
    assert dict(places) == {"Weir": "left", "Ebb": "right", "Tide": "right"}

    # The loaded shelf is photographed, and each piece tapped on it.
    oona.get_by_label("Photographs").set_input_files(shelf_file("teal"))
    oona.get_by_role("button", name="Add it, then mark the pieces").click()
    for left in (250 / 1200, 0.5, 950 / 1200):
        tap(oona.get_by_role("button", name="Tap on the photograph"), left, 0.5)
        expect(oona.get_by_text("is marked.")).to_be_visible()
    assert oona.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    spots = PieceSpot.objects.order_by("loaded_piece").values_list("x", "y")
    assert [each for spot in spots for each in spot] == pytest.approx(
        [250 / 1200, 0.5, 0.5, 0.5, 950 / 1200, 0.5], abs=0.01
    )

    # Whoever opens takes one photograph.
    Firing.objects.update(state=FiringState.FIRING, started_at=timezone.now() - timedelta(hours=30))
    oona.goto(reverse("firings:firing_open", args=[firing.pk]))
    expect(oona.get_by_text("Hot glass cracks in a draught")).to_be_visible()
    oona.get_by_label("Photographs").set_input_files(shelf_file("maroon"))
    oona.get_by_role("button", name="It is opened").click()
    expect(oona.get_by_text("3 taken over from where they lay")).to_be_visible()
    oona.get_by_role("button", name="They fit").click()
    expect(oona.get_by_text("taken over from")).to_have_count(0)

    # Each maker finds the part with their own piece, and judges it.
    for maker, page, title in ((student, ravi, "Weir"), (artist, None, "Ebb")):
        taps = judged_by(page or open_page(maker, viewport=PHONE), title)
        assert taps <= MOST_TAPS
        assert LoadedPiece.objects.get(piece__title=title).counted_verdict == 0
    assert LoadedPiece.objects.get(piece__title="Tide").counted_verdict is None


def judged_by(page: Page, title: str) -> int:
    """How many taps it took from the front page."""
    page.goto(reverse("firings:today"))
    shown = page.get_by_role("img", name=f"{title}, cut out of a photograph")
    shown.scroll_into_view_if_needed()
    expect(shown).to_be_visible()
    assert shown.evaluate("image => image.complete && image.naturalWidth > 100")
    taps = [
        page.get_by_role("link", name=f"Judge {title}"),
        page.get_by_text("as wanted", exact=True),
        page.get_by_role("button", name="Save"),
    ]
    taps[0].click()
    expect(page.get_by_role("img", name=f"After: {title}")).to_be_visible()
    for each in taps[1:]:
        each.click()
    expect(page.get_by_text(f"What you saw on “{title}” is kept.")).to_be_visible()
    return len(taps)


CAMERA = """code => {
  window.BarcodeDetector = class {
    static async getSupportedFormats() { return ["qr_code"]; }
    async detect(seen) { return seen.videoWidth ? [{ rawValue: code }] : []; }
  };
  navigator.mediaDevices.getUserMedia = async () => {
    const canvas = document.createElement("canvas");
    canvas.getContext("2d").fillRect(0, 0, 300, 150);
    return canvas.captureStream(10);
  };
}"""


def test_the_camera_scans_where_the_browser_reads_codes(
    firing: Firing, glass: GlassKind, instructor: Person, open_page: OpenPage
) -> None:
    """The browser's reader of codes is stood in for: Chromium has one on phones alone."""
    code = ticket(instructor, glass, "Weir")
    page = open_page(instructor, viewport=PHONE)
    page.goto(reverse("firings:load_together", args=[firing.pk]))
    expect(page.get_by_role("button", name="Scan with the camera")).to_be_hidden()
    page.add_init_script(f"({CAMERA})({code!r})")
    page.reload()
    page.get_by_role("button", name="Scan with the camera").click()
    expect(page.locator("#scanned")).to_contain_text("“Weir” is in.")
    page.get_by_role("button", name="Stop the camera").click()
    expect(page.locator("video")).to_be_hidden()
    page.get_by_role("button", name="Take it out again").click()
    expect(page.get_by_text("“Weir” was taken out of the load.")).to_be_visible()
    assert not LoadedPiece.objects.exists()


def test_all_of_it_works_without_script(
    firing: Firing, glass: GlassKind, instructor: Person, open_page: OpenPage
) -> None:
    code = ticket(instructor, glass, "Weir")
    page = open_page(instructor, viewport=PHONE, scripts=False)
    page.goto(reverse("firings:load_together", args=[firing.pk]))
    page.get_by_role("textbox", name="Ticket").fill("nonsense")
    page.get_by_role("textbox", name="Ticket").press("Enter")
    expect(page.get_by_text("“nonsense” is on no ticket")).to_be_visible()
    page.get_by_role("textbox", name="Ticket").fill(code)
    page.get_by_role("textbox", name="Ticket").press("Enter")
    expect(page.get_by_text("“Weir” is in.")).to_be_visible()
    tap(page.get_by_role("button", name="Tap on the map"), 0.9, 0.5)
    expect(page.get_by_text("“Weir” lies at “right”.")).to_be_visible()
    page.get_by_label("Photographs").set_input_files(shelf_file("teal"))
    page.get_by_role("button", name="Add it, then mark the pieces").click()
    tap(page.get_by_role("button", name="Tap on the photograph"), 0.75, 0.25)
    expect(page.get_by_text("“Weir” is marked.")).to_be_visible()
    spot = PieceSpot.objects.get()
    assert (spot.x, spot.y) == pytest.approx((0.75, 0.25), abs=0.01)
    page.get_by_text("Without tapping").click()
    page.get_by_label("Weir, Oona").check()
    page.get_by_label("From the left, %").fill("20")
    page.get_by_label("From the top, %").fill("30")
    page.get_by_role("button", name="It lies there").click()
    expect(page.get_by_text("“Weir” is marked.")).to_be_visible()
    spot.refresh_from_db()
    assert (spot.x, spot.y) == (0.2, 0.3)
