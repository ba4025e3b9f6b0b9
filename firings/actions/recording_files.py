"""Keeps the files of data loggers with their firing, as they came, and lets them go again."""

import hashlib
from collections.abc import Iterable, Sequence

from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db import transaction

from firings.models import Firing, RecordingFile
from studio.models import Person


@transaction.atomic
def recording_files_add(
    *, firing: Firing, by: Person, files: Sequence[File]
) -> tuple[list[RecordingFile], list[RecordingFile]]:
    """The files that are new to this firing, and those that it has already."""
    firing = Firing.objects.select_for_update().get(pk=firing.pk)
    by_digest = {file.digest: file for file in firing.recording_files.all()}
    added: list[RecordingFile] = []
    known: dict[int, RecordingFile] = {}
    try:
        for file in files:
            digest = _digest(file.chunks())
            if digest in by_digest:
                known[by_digest[digest].pk] = by_digest[digest]
                continue
            kept = RecordingFile(
                firing=firing,
                name=_short_name(file.name),
                digest=digest,
                size=file.size,
                added_by=by,
            )
            kept.full_clean(exclude=["original"])
            added.append(kept)
            kept.original.save(kept.name, file, save=False)
            kept.save()
            by_digest[digest] = kept
    except BaseException:  # the rows go with the transaction; the files would stay behind
        for each in added:
            _delete_original(each)
        raise
    return added, [file for file in known.values() if file not in added]


@transaction.atomic
def recording_file_remove(*, file: RecordingFile) -> None:
    """The file, gone with its row. `ValidationError` for one whose readings were taken."""
    Firing.objects.select_for_update().get(pk=file.firing_id)
    file = RecordingFile.objects.get(pk=file.pk)
    if file.taken_at is not None:
        raise ValidationError(
            "Its readings are taken; take them back before you remove it.", code="taken"
        )
    file.delete()
    transaction.on_commit(lambda: _delete_original(file))


def _digest(chunks: Iterable[bytes]) -> str:
    digest = hashlib.sha256()
    for chunk in chunks:
        digest.update(chunk)
    return digest.hexdigest()


def _short_name(name: str | None) -> str:
    """At most as long as its field, and its ending kept."""
    longest = RecordingFile._meta.get_field("name").max_length or 0
    name = name or "recording"
    return name if len(name) <= longest else f"{name[: longest - 40]}…{name[-39:]}"


def _delete_original(file: RecordingFile) -> None:
    if file.original.name:
        file.original.storage.delete(file.original.name)
