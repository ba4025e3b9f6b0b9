from datetime import timedelta

import pytest
import segno
from django.core.mail import EmailMessage
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.models import Label, UnknownFiring
from studio.models import Kiln, Person
from tests.factories import load_piece, make_firing, make_kiln, make_person, make_place


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def at_kiln(kiln: Kiln, signed_in, artist: Person) -> tuple[Client, str]:
    """The artist's browser, and where the kiln's label leads."""
    label = Label.objects.create(kiln=kiln)
    return signed_in(artist), reverse("firings:kiln_code", args=[label.code])


def test_kiln_keeps_the_code_that_was_printed(kiln: Kiln, artist: Person, signed_in) -> None:
    address = reverse("firings:kiln_label", args=[kiln.pk])
    client = signed_in(artist)

    first, second = (client.get(address).content.decode() for _ in range(2))

    (label,) = Label.objects.all()
    leads_to = f"http://testserver/k/{label.code}/"
    assert leads_to in first
    assert leads_to in second
    assert (
        segno.make(leads_to, error="m").svg_inline(border=4, light="#fff", omitsize=True) in first
    )


def test_codes_are_too_many_to_guess(kiln: Kiln) -> None:
    codes = {Label(kiln=kiln).code for _ in range(1000)}

    assert len(codes) == 1000
    assert all(len(code) == 10 and not set(code) & set("01ilo") for code in codes)


def test_piece_label_says_whose_it_is_and_where_it_lies(artist: Person, signed_in) -> None:
    firing = make_firing(artist, state="opened")
    loaded = load_piece(firing, place=make_place(firing.kiln, "back left"), title="Tide bowl")

    page = signed_in(artist).get(reverse("firings:piece_label", args=[loaded.piece_id]))

    words = page.content.decode()
    for each in ("Tide bowl", "by Inka", f"firing {firing.pk}", "Heron, back left"):
        assert each in words


def test_piece_code_leads_to_the_piece(artist: Person, signed_in) -> None:
    loaded = load_piece(make_firing(artist))
    label = Label.objects.create(piece=loaded.piece)

    answer = signed_in(artist).get(reverse("firings:piece_code", args=[label.code]))

    assert answer.headers["Location"] == reverse("firings:piece_detail", args=[loaded.piece_id])


def test_a_sheet_of_labels_asks_as_much_for_one_piece_as_for_many(
    artist: Person, signed_in
) -> None:
    firing, client = make_firing(artist), signed_in(artist)
    address = reverse("firings:load_labels", args=[firing.pk])
    load_piece(firing)
    client.get(address)
    with CaptureQueriesContext(connection) as few:
        client.get(address)
    for number in range(5):
        load_piece(firing, title=f"Tile {number}")
    client.get(address)
    with CaptureQueriesContext(connection) as many:
        page = client.get(address).content.decode()

    assert len(many) == len(few)
    assert page.count('class="ticket"') == 6


def test_codes_of_a_kiln_and_a_piece_are_told_apart(kiln: Kiln, artist: Person, signed_in) -> None:
    label = Label.objects.create(kiln=kiln)

    assert signed_in(artist).get(f"/p/{label.code}/").status_code == 404
    assert signed_in(artist).get("/k/nosuchcode/").status_code == 404


def test_code_needs_a_sign_in_and_leads_back(kiln: Kiln, outsider: Client) -> None:
    address = f"/k/{Label.objects.create(kiln=kiln).code}/"

    assert outsider.get(address).headers["Location"].endswith(f"?next={address}")


def test_code_of_a_kiln_that_fires_shows_what(
    kiln: Kiln, artist: Person, at_kiln: tuple[Client, str]
) -> None:
    firing = make_firing(artist, kiln=kiln, state="firing", title="Ebb panel")
    client, address = at_kiln

    page = client.get(address).content.decode()

    assert "Ebb panel" in page
    assert reverse("firings:firing_now", args=[firing.pk]) in page
    assert "It is running, I don’t know what" not in page


def test_code_offers_what_is_planned_to_start(
    kiln: Kiln, artist: Person, at_kiln: tuple[Client, str]
) -> None:
    mine = make_firing(artist, kiln=kiln)
    other = make_firing(make_person("wilf"), kiln=kiln, revision=mine.revision)
    client, address = at_kiln

    page = client.get(address).content.decode()

    assert reverse("firings:firing_start", args=[mine.pk]) in page
    assert reverse("firings:firing_start", args=[other.pk]) not in page
    assert f"{reverse('firings:firing_plan')}?kiln={kiln.pk}" in page


def test_one_reading_opens_an_unknown_firing_and_tells_the_keeper(
    kiln: Kiln,
    keeper: Person,
    at_kiln: tuple[Client, str],
    mailoutbox: list[EmailMessage],
    django_capture_on_commit_callbacks,
) -> None:
    Person.objects.filter(pk=keeper.pk).update(email="mads@example.org", unit="F")
    client, address = at_kiln

    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(address, {"seen_c": "612", "note": "no slip"})

    unknown = UnknownFiring.objects.get()
    assert answer.headers["Location"] == reverse("firings:unknown_firing", args=[unknown.pk])
    assert (unknown.kiln, unknown.seen_c) == (kiln, 612)
    (mail,) = mailoutbox
    assert mail.to == ["mads@example.org"]
    assert "1134" in mail.body
    assert f"http://testserver{address}" in mail.body
    assert "Heron is running, and nobody wrote down what." in client.get("/").content.decode()


def test_the_same_kiln_found_twice_is_one(at_kiln: tuple[Client, str]) -> None:
    client, address = at_kiln

    answers = [client.post(address, {"seen_c": seen}) for seen in ("612", "630")]

    assert UnknownFiring.objects.count() == 1
    assert answers[0].headers["Location"] == answers[1].headers["Location"]


def test_a_reading_that_is_none_is_told_at_its_field(at_kiln: tuple[Client, str]) -> None:
    client, address = at_kiln

    page = client.post(address, {"seen_c": "hot", "note": "no slip"}).content.decode()

    assert "Enter a number, such as 804." in page
    assert 'value="no slip"' in page
    assert not UnknownFiring.objects.exists()


def test_what_the_logbook_knows_is_not_unknown(
    kiln: Kiln, artist: Person, at_kiln: tuple[Client, str]
) -> None:
    make_firing(artist, kiln=kiln, state="firing", started_at=timezone.now() - timedelta(hours=2))
    client, address = at_kiln

    client.post(address, {"seen_c": "612"})

    assert not UnknownFiring.objects.exists()
