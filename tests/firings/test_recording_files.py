"""A logger’s files: sent, kept as they came, given back, removed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from firings.actions import recording_files as actions
from firings.actions.recording import recording_take
from firings.actions.recording_files import recording_file_remove, recording_files_add
from firings.models import Firing, RecordingFile
from studio.models import Person
from tests.factories import make_firing
from tests.firings.logger_files import logger_file

SignedIn = Callable[[Person], Client]
HX = {"HX-Request": "true"}
ORIGINALS = RecordingFile._meta.get_field("original").storage


def at(view: str, *args: Any) -> str:
    return reverse(f"firings:{view}", args=args)


def kept(person: Person, firing: Firing | None = None, **shape: Any) -> RecordingFile:
    firing = firing or make_firing(person, state="opened")
    [file], _ = recording_files_add(firing=firing, by=person, files=[logger_file(firing, **shape)])
    return file


def test_file_is_kept_as_it_came_and_nothing_is_taken_unseen(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    sent = logger_file(firing)
    answer = signed_in(artist).post(at("recording_add", firing.pk), {"recordings": sent})
    [file] = firing.recording_files.all()
    assert answer.url == at("recording_import", file.pk)
    sent.seek(0)
    with file.original.open("rb") as original:
        assert original.read() == sent.read()
    assert (file.name, file.size, file.added_by) == ("heron.csv", sent.size, artist)
    assert file.taken_at is None
    assert not hasattr(Firing.objects.get(pk=firing.pk), "series")


def test_originals_stand_apart_from_photographs_under_names_of_our_own(artist: Person) -> None:
    firing = make_firing(artist, state="opened")
    odd = SimpleUploadedFile("../../etc/Löwe €.CSV", b"s,C\n0,20\n60,21\n")
    [file], _ = recording_files_add(firing=firing, by=artist, files=[odd])
    assert file.original.storage is ORIGINALS
    assert file.original.storage is not default_storage
    path = Path(file.original.name)
    assert (path.parent.name, path.suffix) == (str(firing.pk), ".csv")
    assert path.stem.isalnum()
    assert file.name == "Löwe €.CSV"


def test_several_files_are_sent_at_once(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    files = [logger_file(firing, "a.csv"), logger_file(firing, "b.csv", every_s=30.0)]
    signed_in(artist).post(at("recording_add", firing.pk), {"recordings": files})
    assert [file.name for file in firing.recording_files.all()] == ["a.csv", "b.csv"]


def test_a_page_that_shows_progress_is_led_on_by_a_header(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    browser = signed_in(artist)
    sent = {"recordings": logger_file(firing)}
    answer = browser.post(at("recording_add", firing.pk), sent, headers=HX)
    assert answer.status_code == 200
    assert answer["HX-Redirect"] == at("recording_import", firing.recording_files.get().pk)
    refused = browser.post(at("recording_add", firing.pk), {}, headers=HX)
    assert refused.templates[0].name == "firings/_recording_add_form.html"
    assert "required" in refused.content.decode()


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ([], "required"),
        ([SimpleUploadedFile("heron.csv", b"")], "“heron.csv” is empty"),
        ([SimpleUploadedFile("heron.csv", b"0" * 2_000_000)], "“heron.csv” has 2 MB; at most 1 MB"),
        ([SimpleUploadedFile(f"{n}.csv", b"0") for n in range(11)], "At most 10"),
    ],
)
def test_what_cannot_be_kept_is_said(
    artist: Person, signed_in: SignedIn, settings: Any, files: list[Any], says: str
) -> None:
    settings.RECORDING_LIMIT_MB = 1
    firing = make_firing(artist, state="opened")
    page = signed_in(artist).post(at("recording_add", firing.pk), {"recordings": files})
    assert says in " ".join(page.context["form"].errors["recordings"])
    assert not RecordingFile.objects.exists()


def test_same_file_is_kept_once_a_firing(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    browser = signed_in(artist)
    file = kept(artist, firing)
    told = {"recordings": [logger_file(firing, "copy.csv"), logger_file(firing, "again.csv")]}
    answer = browser.post(at("recording_add", firing.pk), told, follow=True)
    assert firing.recording_files.get() == file
    assert "has “heron.csv” already" in " ".join(str(each) for each in answer.context["messages"])
    assert answer.redirect_chain[-1][0] == at("recording_import", file.pk)
    recording_take(file=file, by=artist)
    answer = browser.post(at("recording_add", firing.pk), {"recordings": logger_file(firing)})
    assert answer.url == at("firing_detail", firing.pk)


def test_same_form_sent_twice_keeps_one(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    key = str(uuid4())
    answers = {
        signed_in(artist)
        .post(at("recording_add", firing.pk), {"recordings": logger_file(firing), "form_key": key})
        .url
        for _ in range(2)
    }
    assert answers == {at("recording_import", firing.recording_files.get().pk)}


def test_long_names_are_cut_in_their_middle(artist: Person) -> None:
    firing = make_firing(artist, state="opened")
    long = SimpleUploadedFile("k" * 240 + ".csv", b"s,C\n0,20\n60,21\n")
    [file], _ = recording_files_add(firing=firing, by=artist, files=[long])
    assert len(file.name) == 200
    assert file.name.endswith(".csv")


def test_a_firing_that_was_not_started_has_no_recording(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    answer = signed_in(artist).get(at("recording_add", firing.pk), follow=True)
    assert "has not been started" in " ".join(str(each) for each in answer.context["messages"])


def test_original_is_saved_never_shown(
    artist: Person, student: Person, outsider: Client, signed_in: SignedIn
) -> None:
    file = kept(artist)
    address = at("recording_original", file.pk)
    answer = signed_in(student).get(address)
    content = b"".join(answer.streaming_content)
    assert content.startswith("time,chamber °C".encode())
    assert len(content) == file.size
    assert answer["Content-Disposition"] == 'attachment; filename="heron.csv"'
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert outsider.get(address).url.startswith(reverse("studio:sign_in"))
    assert signed_in(student).post(address).status_code == 405
    ORIGINALS.delete(file.original.name)
    assert signed_in(student).get(address).status_code == 404


def test_file_is_removed_with_its_original(
    artist: Person, signed_in: SignedIn, django_capture_on_commit_callbacks: Any
) -> None:
    file = kept(artist)
    with django_capture_on_commit_callbacks(execute=True):
        answer = signed_in(artist).post(at("recording_remove", file.pk))
    assert answer.url == at("firing_detail", file.firing_id)
    assert not RecordingFile.objects.exists()
    assert not ORIGINALS.exists(file.original.name)


def test_a_taken_file_is_not_removed(artist: Person, signed_in: SignedIn) -> None:
    file = kept(artist)
    recording_take(file=file, by=artist)
    with pytest.raises(ValidationError, match="take them back"):
        recording_file_remove(file=file)
    answer = signed_in(artist).post(at("recording_remove", file.pk), follow=True)
    assert "take them back" in " ".join(str(each) for each in answer.context["messages"])
    assert ORIGINALS.exists(file.original.name)


def test_files_are_added_while_it_runs_by_all_and_afterwards_by_its_own_people(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    running, over = make_firing(artist, state="firing"), make_firing(artist, state="opened")
    assert signed_in(student).get(at("recording_add", running.pk)).status_code == 200
    assert signed_in(student).get(at("recording_add", over.pk)).status_code == 403
    assert signed_in(instructor).get(at("recording_add", over.pk)).status_code == 200
    theirs, other = kept(student, running), kept(artist, over)
    assert signed_in(student).post(at("recording_remove", other.pk)).status_code == 403
    assert signed_in(student).post(at("recording_remove", theirs.pk)).status_code == 302


def test_failed_saving_leaves_no_file_behind(
    artist: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    firing = make_firing(artist, state="opened")
    written: list[str] = []
    keep = actions.RecordingFile.save

    def full_disk(file: RecordingFile, *args: Any, **kwargs: Any) -> None:
        written.append(file.original.name)
        if len(written) > 1:
            raise OSError("No space left on device")
        keep(file, *args, **kwargs)

    monkeypatch.setattr(actions.RecordingFile, "save", full_disk)
    with pytest.raises(OSError, match="No space"):
        recording_files_add(
            firing=firing,
            by=artist,
            files=[logger_file(firing), logger_file(firing, every_s=30.0)],
        )
    assert not RecordingFile.objects.exists()
    assert len(written) == 2
    assert not any(ORIGINALS.exists(name) for name in written)
