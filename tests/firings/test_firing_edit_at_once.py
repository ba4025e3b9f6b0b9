"""Two people change one firing, or one piece in it, at a time."""

from collections.abc import Callable

from django.test import Client
from django.urls import reverse

from studio.models import Person
from tests.factories import load_piece, make_firing
from tests.forms_sent import as_shown

SignedIn = Callable[[Person], Client]


def test_each_saves_their_part_of_a_record(
    artist: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened", recorded_peak_c=804.3)
    address = reverse("firings:firing_edit", args=[firing.pk])
    one, other = signed_in(artist), signed_in(instructor)
    first, second = (each.get(address).context["form"] for each in (one, other))

    one.post(address, as_shown(first) | {"notes": "full shelf", "recorded_peak_c": "806"})
    other.post(address, as_shown(second) | {"room_temperature_c": "21"})

    firing.refresh_from_db()
    assert (firing.notes, firing.recorded_peak_c) == ("full shelf", 806.0)
    assert firing.room_temperature_c == 21.0


def test_each_saves_their_part_of_a_piece(
    artist: Person, instructor: Person, signed_in: SignedIn
) -> None:
    loaded = load_piece(make_firing(artist))
    address = reverse("firings:piece_edit", args=[loaded.pk])
    one, other = signed_in(artist), signed_in(instructor)
    first, second = (each.get(address).context["form"] for each in (one, other))

    one.post(address, as_shown(first) | {"thickest_mm": "9", "title": "Tide bowl"})
    other.post(address, as_shown(second) | {"wanted": "edges round"})

    loaded.refresh_from_db()
    assert (loaded.thickest_mm, loaded.wanted) == (9.0, "edges round")
    assert loaded.piece.title == "Tide bowl"
