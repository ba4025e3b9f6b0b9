"""What a studio device never shows, looked for on every page that it shows."""

from collections.abc import Iterator
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import resolve

from firings.models import (
    Clearing,
    ClearingDecision,
    Comment,
    Fault,
    Firing,
    LoadedPiece,
    Review,
)
from studio.at_device import is_open
from studio.models import GlassLot, Person
from tests.browser.pages import PageAddress, fill_studio
from tests.devices import as_saver, device_browser, make_device, with_code
from tests.factories import load_piece, make_class, make_firing, make_kiln

pytestmark = pytest.mark.django_db

SECRET = "zinnober"
"""Stands in every text that is nobody's business on a tablet beside the kilns."""


def keep_secrets(keeper: Person, student: Person) -> Firing:
    """A student's firing with all that is said of it, and one that they keep to themselves."""
    make_class(keeper, students=[student])
    opened = make_firing(student, state="opened", title="Weir bowl")
    loaded = load_piece(opened, verdict=1, judged_by=student, remarks=f"too flat, {SECRET}")
    Fault.objects.create(loaded_piece=loaded, kind="stuck", note=SECRET, noted_by=student)
    Review.objects.create(loaded_piece=loaded, comment=SECRET, reviewed_by=keeper)
    Comment.objects.create(firing=opened, said_by=student, words=SECRET)
    Clearing.objects.create(
        firing=opened,
        decision=ClearingDecision.RETURNED,
        seen="x",
        comment=SECRET,
        decided_by=keeper,
    )
    kept = make_firing(student, state="opened", is_private=True, notes=SECRET)
    in_kept = load_piece(kept, remarks=SECRET)
    in_kept.piece.title = f"Bowl of {SECRET}"
    in_kept.piece.save()
    here = make_kiln("Otter")
    make_firing(student, kiln=here, state="firing", is_private=True, notes=SECRET)
    return opened


def shown_at_device(pages: list[PageAddress]) -> Iterator[str]:
    for page in pages:
        if page.name != "missing" and is_open(page.name, "GET"):
            yield page.address


@pytest.fixture
def tablet(keeper: Person) -> Client:
    return device_browser(make_device(keeper, name="bench computer")[1])


def test_no_page_shows_what_is_private(
    keeper: Person, artist: Person, student: Person, tablet: Client
) -> None:
    for number, person in enumerate((keeper, artist, student)):
        person.email = f"{SECRET}-{number}@studio.example"
        person.save()
    pages = fill_studio(keeper, artist)
    GlassLot.objects.update(price=Decimal("87.65"))
    opened = keep_secrets(keeper, student)
    kept = Firing.objects.filter(is_private=True)
    piece = LoadedPiece.objects.get(firing=opened).piece_id
    around = ("", "now/", "load/", "load/together/", "open/", "edit/", "card/", "keyed/")
    more = [f"/firings/{each.pk}/{part}" for each in [opened, *kept] for part in around]
    more += [f"/pieces/{piece}/", "/logbook/?words=bowl", "/storage/", "/waiting/"]

    texts = {each: tablet.get(each).text for each in [*shown_at_device(pages), *more]}

    assert len(texts) > 50
    assert [each for each, text in texts.items() if SECRET in text] == []
    money = ("/cost/", "/statement", "87.65")
    assert [each for each, text in texts.items() if any(word in text for word in money)] == []


def test_a_kept_load_and_words_of_a_student_are_closed(
    keeper: Person, student: Person, tablet: Client
) -> None:
    opened = keep_secrets(keeper, student)
    loaded = opened.load.get()
    kept = LoadedPiece.objects.get(firing__is_private=True)
    for address in (
        f"/pieces/{kept.piece_id}/",
        f"/loaded/{kept.pk}/judge/",
        f"/loaded/{loaded.pk}/judge/",
        f"/firings/{opened.pk}/comments/",
        f"/review/{loaded.pk}/",
        f"/people/{student.pk}/progress/",
        f"/people/{student.pk}/",
    ):
        answer = tablet.get(address)
        assert answer.status_code == 403, address
        assert resolve(address).url_name
        assert "Not on a studio device" in answer.text


def test_whoever_saves_sees_with_the_eyes_of_the_device(
    keeper: Person, artist: Person, student: Person, tablet: Client
) -> None:
    """Also in the answer to a form that is refused, which stays on the screen when they go."""
    with_code(keeper, artist, student)
    opened = keep_secrets(keeper, student)
    private = Firing.objects.get(is_private=True, state="firing")
    kept = LoadedPiece.objects.get(firing__is_private=True)
    for person in (keeper, student, artist):
        hot = as_saver(person, temperature_c="hot", unit="C")
        refused = tablet.post(f"/firings/{private.pk}/now/", hot)
        assert refused.status_code == 200
        assert "hot" in refused.text
        assert SECRET not in refused.text
        for address in (f"/loaded/{kept.pk}/judge/", f"/loaded/{opened.load.get().pk}/judge/"):
            answer = tablet.post(address, as_saver(person, verdict="9"))
            assert answer.status_code == 403
            assert SECRET not in answer.text
