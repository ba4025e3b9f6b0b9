"""An old card is kept with its photograph, and proves nothing until it was fired and judged."""

import io
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from PIL import Image

from schedules.models import Schedule, ScheduleCard
from studio.models import GlassFamily, Person
from studio.pictures import prepare_picture
from tests.factories import load_piece, make_card, make_family, make_firing, make_kiln
from tests.firings.pictures import picture_file
from tests.schedules.editor_forms import schedule_sent

SignIn = Callable[[Person], Client]
URL = reverse("schedules:schedule_card_add")
UNPROVEN = "unproven here"


@pytest.fixture
def family(db: None) -> GlassFamily:
    make_kiln()
    return make_family()


def card_sent(family: GlassFamily, /, **overrides: Any) -> dict[str, Any]:
    return schedule_sent(family.pk) | {"photographs": picture_file("card.jpg")} | overrides


def test_neither_unit_nor_glass_is_chosen_beforehand(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    artist.unit = "F"
    artist.save()
    editor = signed_in(artist).get(URL).context["editor"]
    assert editor.revision["unit"].value() == ""
    assert not editor.facts["family"].value()
    page = signed_in(artist).get(URL).text
    assert "Fire a test tile by it first" in page
    assert "It is drawn once the unit is chosen" in page


def test_card_is_kept_as_revision_1_with_its_photograph(
    family: GlassFamily, student: Person, signed_in: SignIn
) -> None:
    page = signed_in(student).post(URL, card_sent(family, unit="F"), follow=True)

    schedule = Schedule.objects.get()
    revision = schedule.revisions.get()
    assert (revision.number, revision.unit) == (1, "F")
    assert revision.reason == "As it stands on an old card."
    assert (schedule.owner, schedule.card.added_by) == (student, student)
    assert UNPROVEN in page.text
    address = f"/schedules/{schedule.pk}/card/small.jpg"
    assert address in page.text
    answer = signed_in(student).get(address)
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert "private" in answer.headers["Cache-Control"]


@pytest.mark.parametrize(
    ("overrides", "where", "told"),
    [
        ({"unit": ""}, "unit", "required"),
        ({"family": ""}, "family", "Choose the family"),
        ({"segments-1-target": "2000"}, "segments", "Between 20"),
    ],
)
def test_what_is_left_out_is_told_and_nothing_typed_is_lost(
    overrides: dict[str, str], where: str, told: str,
    family: GlassFamily, artist: Person, signed_in: SignIn,
) -> None:  # fmt: skip
    page = signed_in(artist).post(URL, card_sent(family, **overrides))
    editor = page.context["editor"]
    errors = {
        "unit": editor.revision.errors.get("unit"),
        "family": editor.facts.errors.get("family"),
        "segments": editor.segments.errors[1].get("target"),
    }
    assert told in str(errors[where])
    assert 'value="Tide fuse"' in page.text
    assert "Choose them once more" in page.text
    assert not Schedule.objects.exists()


@pytest.mark.parametrize(
    ("file", "told"),
    [("", "required"), (b"no picture", "is no picture that can be read")],
)
def test_card_without_a_photograph_is_none(
    file: Any, told: str, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    sent = card_sent(family)
    if file:
        broken = io.BytesIO(file)
        broken.name = "card.jpg"
        sent["photographs"] = broken
    else:
        del sent["photographs"]
    page = signed_in(artist).post(URL, sent)
    assert told in str(page.context["card"].errors["photographs"])
    assert not Schedule.objects.exists()


def test_row_is_added_without_script_and_the_file_asked_for_again(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    page = signed_in(artist).post(URL, card_sent(family, do="add", unit=""))
    assert 'name="segments-3-target"' in page.text
    assert "Choose them once more" in page.text
    assert page.context["editor"].revision["unit"].value() == ""
    assert not ScheduleCard.objects.exists()


def test_photograph_loses_what_a_phone_writes_into_it(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    file = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "a phone"
    Image.new("RGB", (64, 48), "teal").save(file, "JPEG", exif=exif)
    file.seek(0)
    file.name = "card.jpg"
    signed_in(artist).post(URL, card_sent(family, photographs=file))
    with Image.open(ScheduleCard.objects.get().picture) as kept:
        assert not kept.getexif()


def test_unproven_until_it_was_fired_here_and_judged(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    schedule = make_card(artist)
    browser, address = signed_in(artist), f"/schedules/{schedule.pk}/"
    firing = make_firing(artist, revision=schedule.revisions.get(), state="opened")
    loaded = load_piece(firing)
    assert UNPROVEN in browser.get(address).text

    loaded.verdict = -1
    loaded.save()
    assert UNPROVEN not in browser.get(address).text


def test_schedule_without_a_card_says_nothing_of_one(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    firing = make_firing(artist)
    page = signed_in(artist).get(f"/schedules/{firing.revision.schedule_id}/").text
    assert UNPROVEN not in page
    answer = signed_in(artist).get(f"/schedules/{firing.revision.schedule_id}/card/small.jpg")
    assert answer.status_code == 404


def test_failed_keeping_leaves_no_files(
    family: GlassFamily, artist: Person, settings: Any, tmp_path: Any
) -> None:
    settings.MEDIA_ROOT = tmp_path
    photograph = replace(prepare_picture(picture_file()), width=-1)
    with pytest.raises(ValidationError):
        make_card(artist, photograph=photograph)
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]
    assert not Schedule.objects.exists()


@pytest.mark.parametrize("page", ["/schedules/", "/schedules/add/"])
def test_card_is_found_where_schedules_are_added(
    page: str, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    assert f'href="{URL}"' in signed_in(artist).get(page).text
