"""How many taps ten everyday tasks take on a phone, from the front page or a scanned label.

A tap is a touch on a link, a button, a box or a field; words typed into a field are no taps, nor
are the camera's own, and a list to choose from counts two.
"""

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, Response, expect

from firings.models import (
    Firing,
    Label,
    LoadedPiece,
    Photograph,
    SpotReading,
    UnknownFiring,
    WaitingPiece,
)
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import load_piece, make_firing, make_glass, make_kiln
from tests.firings.pictures import picture_file

OpenPage = Callable[..., Page]


class Thumb:
    """Does what a thumb does on a page, and counts it."""

    def __init__(self, page: Page, start: str = "/") -> None:
        self.page = page
        self.taps = 0
        page.goto(start)

    def tap(self, what: str, *, within: str = "main") -> None:
        """A link or a button, by its words."""
        place = self.page.locator(within)
        named = place.get_by_role("link", name=what).or_(place.get_by_role("button", name=what))
        self.touch(named.first)

    def touch(self, what: Locator) -> None:
        self.taps += 1
        what.click()

    def field(self, label: str) -> Locator:
        """By the beginning of its label: whether it is optional stands behind."""
        return self.page.get_by_label(re.compile(f"^{re.escape(label)}")).first

    def write(self, label: str, words: str) -> None:
        self.taps += 1
        self.field(label).fill(words)

    def choose(self, label: str, words: str) -> None:
        self.taps += 2
        self.field(label).select_option(label=words)

    def photograph(self, label: str, file: Path) -> None:
        self.taps += 1
        self.field(label).set_input_files(file)


def is_sent(answer: Response) -> bool:
    return answer.request.method == "POST"


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "lid.jpg"
    path.write_bytes(picture_file().read())
    return path


@pytest.fixture
def thumb(artist: Person, open_page: OpenPage) -> Callable[..., Thumb]:
    return lambda start="/": Thumb(open_page(artist, viewport=PHONE), start)


def opened(artist: Person, **overrides: object) -> Firing:
    now = timezone.now()
    return make_firing(
        artist,
        state="opened",
        started_at=now - timedelta(days=2),
        opened_at=now - timedelta(days=1),
        **overrides,
    )


def test_a_firing_noted_afterwards(
    artist: Person, thumb: Callable[..., Thumb], picture: Path
) -> None:
    load_piece(opened(artist))
    hand = thumb()
    hand.tap("Note a firing afterwards")
    hand.write("Started", "2026-05-11T09:30")
    hand.write("Opened", "2026-05-12T08:00")
    hand.write("Recorded peak, °C", "806")
    hand.write("Duration", "9:40")
    hand.write("Title", "Weir tile")
    hand.touch(hand.page.get_by_label("a touch far"))
    hand.photograph("Photographs", picture)
    hand.tap("Write it down")
    expect(hand.page.get_by_role("heading", name="Weir tile").first).to_be_visible()
    noted = LoadedPiece.objects.get(piece__title="Weir tile")
    assert (noted.verdict, noted.firing.recorded_peak_c) == (1, 806.0)
    assert Photograph.objects.filter(loaded_piece=noted).count() == 1
    assert hand.taps <= 12


def test_a_reading(artist: Person, thumb: Callable[..., Thumb]) -> None:
    """From the live page, which is open beside the kiln."""
    firing = make_firing(artist, state="firing", started_at=timezone.now() - timedelta(hours=2))
    live = reverse("firings:firing_now", args=[firing.pk])
    typed = thumb(live)
    typed.write("The display shows", "309")
    with typed.page.expect_response(is_sent):
        typed.tap("Note it")
    by_ten = thumb(live)
    by_ten.tap("+10")
    with by_ten.page.expect_response(is_sent):
        by_ten.tap("Note it")
    assert SpotReading.objects.filter(temperature_c=309).exists()
    assert SpotReading.objects.count() == 2
    assert typed.taps == by_ten.taps == 2


def test_a_verdict_with_a_photograph(
    artist: Person, thumb: Callable[..., Thumb], picture: Path
) -> None:
    loaded = load_piece(opened(artist))
    hand = thumb()
    hand.tap("Judge")
    hand.touch(hand.page.get_by_label("a touch short"))
    hand.photograph("Photographs of it", picture)
    hand.tap("Save")
    expect(hand.page.get_by_text("is kept")).to_be_visible()
    loaded.refresh_from_db()
    assert (loaded.verdict, loaded.photographs.count()) == (-1, 1)
    assert hand.taps <= 5


def test_a_pieces_last_firing(artist: Person, thumb: Callable[..., Thumb]) -> None:
    first = opened(artist, title="Fused in spring")
    loaded = load_piece(first, title="Weir bowl")
    load_piece(opened(artist, title="Slumped in autumn"), piece=loaded.piece)
    for number in range(30):
        load_piece(opened(artist, title=f"Another {number}"), title=f"Tile {number}")
    hand = thumb()
    hand.tap("Logbook", within="header")
    hand.write("Words", "weir bowl")
    hand.page.keyboard.press("Enter")
    hand.tap("Slumped in autumn")
    expect(hand.page.get_by_role("heading", name="Slumped in autumn")).to_be_visible()
    assert hand.taps <= 4
    ticket = Label.objects.create(piece=loaded.piece)
    scanned = thumb(reverse("firings:piece_code", args=[ticket.code]))
    expect(scanned.page.get_by_role("link", name="Slumped in autumn")).to_be_visible()
    assert scanned.taps == 0


def test_a_start(artist: Person, thumb: Callable[..., Thumb]) -> None:
    firing = make_firing(artist, title="Ebb panel")
    load_piece(firing)
    label = Label.objects.create(kiln=firing.kiln)
    hand = thumb(reverse("firings:kiln_code", args=[label.code]))
    hand.tap("Start it")
    hand.tap("It is started")
    expect(hand.page.get_by_text("Started.")).to_be_visible()
    assert hand.taps <= 3


def test_an_opening_with_its_verdict(artist: Person, thumb: Callable[..., Thumb]) -> None:
    loaded = load_piece(
        make_firing(artist, state="firing", started_at=timezone.now() - timedelta(hours=30))
    )
    hand = thumb()
    hand.tap("Watch it")
    hand.tap("Note the opening")
    hand.touch(hand.page.get_by_label("as wanted"))
    hand.tap("It is opened")
    expect(hand.page.get_by_text("Opened.")).to_be_visible()
    loaded.refresh_from_db()
    assert loaded.verdict == 0
    assert hand.taps <= 4


def test_a_kiln_that_was_found_running(artist: Person, thumb: Callable[..., Thumb]) -> None:
    label = Label.objects.create(kiln=make_kiln())
    hand = thumb(reverse("firings:kiln_code", args=[label.code]))
    hand.write("The display shows, °C", "640")
    hand.tap("It is running")
    expect(hand.page.get_by_role("heading", name="Found running")).to_be_visible()
    assert UnknownFiring.objects.get().seen_c == 640
    assert hand.taps <= 2


def test_a_fault_that_showed_days_later(artist: Person, thumb: Callable[..., Thumb]) -> None:
    loaded = load_piece(opened(artist), title="Weir bowl", verdict=0)
    ticket = Label.objects.create(piece=loaded.piece)
    hand = thumb(reverse("firings:piece_code", args=[ticket.code]))
    hand.tap("A fault that showed later")
    hand.choose("What", "crack, edges sharp")
    hand.tap("Note it")
    expect(hand.page.get_by_text("Noted: crack")).to_be_visible()
    assert loaded.faults.get().seen_on == timezone.localdate()
    assert hand.taps <= 6


def test_a_piece_that_waits(artist: Person, thumb: Callable[..., Thumb]) -> None:
    make_firing(artist)
    glass = make_glass()
    hand = thumb()
    hand.tap("Waiting for a kiln")
    hand.tap("A piece waits")
    hand.write("Title", "Weir bowl")
    hand.choose("Process", "slump")
    hand.choose("Glass", str(glass))
    hand.write("Thickest, mm", "6")
    hand.tap("It waits")
    expect(hand.page.get_by_text("Weir bowl").first).to_be_visible()
    assert WaitingPiece.objects.get().thickest_mm == 6
    assert hand.taps <= 10


def test_a_ticket_into_a_load(artist: Person, thumb: Callable[..., Thumb]) -> None:
    firing = make_firing(artist, title="Evening class", planned_start=timezone.now())
    waiting = load_piece(opened(artist), title="Weir bowl")
    ticket = Label.objects.create(piece=waiting.piece)
    hand = thumb(reverse("firings:piece_code", args=[ticket.code]))
    hand.tap("Put it in now")
    expect(hand.page.get_by_text("Weir bowl").first).to_be_visible()
    assert firing.load.get().piece == waiting.piece
    assert hand.taps <= 2
