"""Photographs: sent, refused, served, removed."""

import io
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from firings.actions import photographs as actions
from firings.actions.photographs import photographs_add
from firings.models import Photograph
from studio.models import Person
from studio.pictures import PreparedPicture, prepare_picture
from tests.factories import load_piece, make_firing
from tests.firings.pictures import picture_file

SignedIn = Callable[[Person], Client]


def at(view: str, *args: Any) -> str:
    return reverse(f"firings:{view}", args=args)


def prepared(colour: str = "teal") -> PreparedPicture:
    return prepare_picture(picture_file(colour=colour).file)


def kept(person: Person, **overrides: Any) -> Photograph:
    firing = overrides.pop("firing", None) or make_firing(person, state="opened")
    [photograph] = photographs_add(firing=firing, by=person, pictures=[prepared()])
    return photograph


def test_several_are_added_at_once(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    loaded = load_piece(firing)
    files = [
        picture_file(),
        picture_file("b.heic", "red", "HEIF"),
        picture_file("c.webp", "blue", "WEBP"),
    ]
    told = {"photographs": files, "moment": "after", "loaded_piece": loaded.pk, "caption": "rim"}
    signed_in(artist).post(at("photograph_add", firing.pk), told)
    added = list(firing.photographs.all())
    assert len(added) == 3
    assert {each.loaded_piece for each in added} == {loaded}
    for photograph in added:
        with photograph.picture.open() as large, photograph.small.open() as small:
            assert Image.open(large).format == Image.open(small).format == "JPEG"


@pytest.mark.parametrize(
    ("state", "moment"), [("planned", "before"), ("firing", "loaded"), ("opened", "after")]
)
def test_moment_is_the_likely_one(
    artist: Person, signed_in: SignedIn, state: str, moment: str
) -> None:
    firing = make_firing(artist, state=state)
    form = signed_in(artist).get(at("photograph_add", firing.pk)).context["form"]
    assert form["moment"].value() == moment
    assert 'accept="image/*' in str(form["photographs"])
    assert "multiple" in str(form["photographs"])


def _too_large() -> SimpleUploadedFile:
    return SimpleUploadedFile("shelf.jpg", b"\xff\xd8" + b"\0" * (40 * 1024 * 1024))


def _text() -> SimpleUploadedFile:
    return SimpleUploadedFile("shelf.jpg", b"my notes", "image/jpeg")


def _cut_short() -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.effect_noise((300, 300), 80).save(file, "JPEG")
    return SimpleUploadedFile("shelf.jpg", file.getvalue()[:4000], "image/jpeg")


def _bomb() -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(file, "PNG")
    return SimpleUploadedFile("shelf.png", file.getvalue(), "image/png")


@pytest.mark.parametrize(
    ("make_file", "says"),
    [
        (_too_large, "“shelf.jpg” has 40 MB; at most 25 MB"),
        (_text, "“shelf.jpg” is no picture that can be read"),
        (_cut_short, "“shelf.jpg” is no picture that can be read"),
        (_bomb, "“shelf.png” has more than 64 million pixels"),
        (lambda: SimpleUploadedFile("shelf.jpg", b""), "is no picture"),
    ],
)
def test_what_is_no_photograph_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person,
    signed_in: SignedIn,
    make_file: Callable[[], SimpleUploadedFile],
    says: str,
) -> None:
    firing = make_firing(artist, state="opened")
    told = {"photographs": [picture_file(), make_file()], "moment": "before", "caption": "rim"}
    page = signed_in(artist).post(at("photograph_add", firing.pk), told)
    form = page.context["form"]
    assert says in " ".join(form.errors["photographs"])
    assert (form["caption"].value(), form["moment"].value()) == ("rim", "before")
    assert not Photograph.objects.exists()


def test_none_and_too_many_at_once_are_said(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    browser = signed_in(artist)
    page = browser.post(at("photograph_add", firing.pk), {"moment": "after"})
    assert page.context["form"].errors["photographs"]
    many = {"moment": "after", "photographs": [picture_file(side=8) for _ in range(21)]}
    page = browser.post(at("photograph_add", firing.pk), many)
    assert "At most 20" in " ".join(page.context["form"].errors["photographs"])


def test_same_picture_is_kept_once_a_firing(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    browser = signed_in(artist)
    told = {"photographs": [picture_file(), picture_file("copy.jpg")], "moment": "after"}
    browser.post(at("photograph_add", firing.pk), told)
    assert firing.photographs.count() == 1
    again = {"photographs": [picture_file()], "moment": "before"}
    answer = browser.post(at("photograph_add", firing.pk), again, follow=True)
    assert "already" in " ".join(str(each) for each in answer.context["messages"])
    assert firing.photographs.count() == 1
    elsewhere = make_firing(artist, revision=firing.revision, state="opened")
    browser.post(at("photograph_add", elsewhere.pk), told | {"photographs": picture_file()})
    assert elsewhere.photographs.count() == 1


def test_same_form_sent_twice_keeps_one(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    key = str(uuid4())
    for _ in range(2):
        told = {"photographs": picture_file(), "moment": "after", "form_key": key}
        answer = signed_in(artist).post(at("photograph_add", firing.pk), told)
        assert answer.url == at("firing_detail", firing.pk)
    assert Photograph.objects.count() == 1


def test_piece_of_another_firing_is_no_choice(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    other = load_piece(make_firing(artist, revision=firing.revision, state="opened"))
    told = {"photographs": picture_file(), "moment": "after", "loaded_piece": other.pk}
    page = signed_in(artist).post(at("photograph_add", firing.pk), told)
    assert page.context["form"].errors["loaded_piece"]


@pytest.mark.parametrize("size", ["large", "small"])
def test_photograph_is_served_for_its_reader_alone(
    artist: Person, student: Person, signed_in: SignedIn, size: str
) -> None:
    photograph = kept(artist)
    answer = signed_in(student).get(at("photograph_file", photograph.pk, size))
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer["Cache-Control"]
    assert "immutable" in answer["Cache-Control"]
    assert Image.open(io.BytesIO(b"".join(answer.streaming_content))).format == "JPEG"


def test_outsider_sees_no_photograph_by_any_address(
    artist: Person, signed_in: SignedIn, outsider: Client
) -> None:
    photograph = kept(artist)
    served = at("photograph_file", photograph.pk, "large")
    assert outsider.get(served).url.startswith(reverse("studio:sign_in"))
    for address in (
        f"/photographs/{photograph.picture.name}",
        f"/media/{photograph.picture.name}",
        f"/{photograph.picture.name}",
    ):
        assert signed_in(artist).get(address).status_code == 404


def test_other_sizes_missing_files_and_missing_records_are_plain_pages(
    artist: Person, signed_in: SignedIn
) -> None:
    photograph = kept(artist)
    browser = signed_in(artist)
    assert browser.get(at("photograph_file", photograph.pk, "huge")).status_code == 404
    assert browser.get(at("photograph_file", 999_999, "large")).status_code == 404
    assert browser.post(at("photograph_file", photograph.pk, "large")).status_code == 405
    default_storage.delete(photograph.picture.name)
    assert browser.get(at("photograph_file", photograph.pk, "large")).status_code == 404


def test_removed_photograph_takes_its_files_along(
    artist: Person, signed_in: SignedIn, django_capture_on_commit_callbacks: Any
) -> None:
    photograph = kept(artist)
    names = [photograph.picture.name, photograph.small.name]
    assert all(default_storage.exists(name) for name in names)
    with django_capture_on_commit_callbacks(execute=True):
        signed_in(artist).post(at("photograph_remove", photograph.pk))
    assert not Photograph.objects.exists()
    assert not any(default_storage.exists(name) for name in names)


def test_photograph_is_removed_by_whoever_took_it_or_whose_firing_it_is(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    [taken_by_student] = photographs_add(firing=firing, by=student, pictures=[prepared()])
    [taken_by_artist] = photographs_add(firing=firing, by=artist, pictures=[prepared("red")])
    student_browser = signed_in(student)
    assert student_browser.post(at("photograph_remove", taken_by_artist.pk)).status_code == 403
    assert student_browser.post(at("photograph_remove", taken_by_student.pk)).status_code == 302
    assert signed_in(artist).get(at("photograph_remove", taken_by_artist.pk)).status_code == 405
    assert (
        signed_in(instructor).post(at("photograph_remove", taken_by_artist.pk)).status_code == 302
    )


def test_failed_saving_leaves_no_file_behind(
    artist: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    firing = make_firing(artist, state="opened")
    written: list[str] = []
    keep = actions.Photograph.save

    def full_disk(photograph: Photograph, *args: Any, **kwargs: Any) -> None:
        written.extend([photograph.picture.name, photograph.small.name])
        if len(written) > 2:
            raise OSError("No space left on device")
        keep(photograph, *args, **kwargs)

    monkeypatch.setattr(actions.Photograph, "save", full_disk)
    with pytest.raises(OSError, match="No space"):
        photographs_add(firing=firing, by=artist, pictures=[prepared(), prepared("red")])
    assert not Photograph.objects.exists()
    assert len(written) == 4
    assert not any(default_storage.exists(name) for name in written)


def test_of_a_firing_kept_to_oneself_only_its_people_see_photographs(
    artist: Person, student: Person, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    firing = make_firing(student, state="opened", is_private=True)
    (photograph,) = photographs_add(firing=firing, by=student, pictures=[prepared()])
    for size in ("small", "large"):
        where = reverse("firings:photograph_file", args=[photograph.pk, size])
        assert signed_in(artist).get(where).status_code == 403
        for person in (student, keeper):
            assert signed_in(person).get(where).status_code == 200
