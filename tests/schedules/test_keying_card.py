from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Revision
from studio.models import Person
from tests.factories import make_kiln, make_revision, make_schedule

# One more than a controller takes, with neighbours that go the same way without a hold between.
LONG: list[tuple[str | None, str, int]] = [
    ("150", "540", 0),
    ("300", "804", 10),
    (None, "482", 60),
    ("80", "427", 0),
    ("20", "371", 0),
]
SignIn = Callable[[Person], Client]


@pytest.fixture
def revision(artist: Person) -> Revision:
    return make_revision(make_schedule(artist))


def url(revision: Revision, query: str = "") -> str:
    return reverse("schedules:keying_card", args=[revision.schedule_id, revision.number]) + query


def test_card_follows_the_kilns_record(
    revision: Revision, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln(
        controller_unit="F", hold_format="h.mm", full_power_entry="9999", closing_entry="END",
        field_order="target_ramp_hold",
    )  # fmt: skip
    page = signed_in(artist).get(url(revision, f"?kiln={kiln.pk}"))
    line = page.context["page"].card.lines[3]
    # 482 °C are 899.6 °F; an hour is 1.00.
    assert [entry.keyed for entry in line.entries] == ["900", "9999", "1.00"]
    for shown in ("899.6", "the nearest that it takes is 900", "END", "9999 is full power"):
        assert shown in page.text


def test_what_is_not_on_record_is_told(
    revision: Revision, artist: Person, signed_in: SignIn
) -> None:
    make_kiln(full_power_entry="")
    assert "does not say what is keyed for full power" in signed_in(artist).get(url(revision)).text


def test_too_many_segments_offer_joined_ones(
    revision: Revision, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln(controller_segments=4)
    long = make_revision(
        revision.schedule,
        LONG,
    )
    page = signed_in(artist).get(url(long, f"?kiln={kiln.pk}"))

    assert [len(way.merging.segments) for way in page.context["page"].ways] == [4, 4]
    assert "Too many segments" in page.text
    assert "?joined=0" in page.text


def test_joined_segments_open_in_the_editor(
    revision: Revision, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln(controller_segments=4)
    long = make_revision(
        revision.schedule,
        LONG,
    )
    address = reverse("schedules:revision_copy", args=[long.schedule_id, long.number])
    page = signed_in(artist).get(f"{address}?joined=0&kiln={kiln.pk}")

    assert len(page.context["editor"].sent().written) == 4
    assert "Joined for the controller of Heron" in page.text
    missing = signed_in(artist).get(f"{address}?joined=7&kiln={kiln.pk}")
    assert "no such way" in missing.text


def test_no_kiln_no_card(revision: Revision, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).get(url(revision)).status_code == 404


def test_card_is_only_read(revision: Revision, artist: Person, signed_in: SignIn) -> None:
    make_kiln()
    assert signed_in(artist).post(url(revision)).status_code == 405
