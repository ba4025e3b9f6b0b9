"""Keeps photographs with their firing, and takes them away again, files and all."""

from collections.abc import Sequence
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from firings.models import Firing, LoadedPiece, Moment, Photograph
from studio.models import Person
from studio.pictures import PreparedPicture


@transaction.atomic
def photographs_add(
    *,
    firing: Firing,
    by: Person,
    pictures: Sequence[PreparedPicture],
    moment: str = Moment.AFTER,
    caption: str = "",
    loaded_piece: LoadedPiece | None = None,
    added_at: datetime | None = None,
    in_conversation: bool = False,
) -> list[Photograph]:
    """The photographs that are new to this firing; one that it has already is left out.

    `added_at` is when they were taken or chosen, where that was before now. One of a comment
    (`in_conversation`) is another than the same one on record, for it is read by others.
    """
    firing = Firing.objects.select_for_update().get(pk=firing.pk)
    there = Photograph.everywhere.filter(firing=firing, in_conversation=in_conversation)
    kept = set(there.values_list("digest", flat=True))
    added: list[Photograph] = []
    try:
        for picture in pictures:
            if picture.digest in kept:
                continue
            kept.add(picture.digest)
            photograph = Photograph(
                firing=firing,
                loaded_piece=loaded_piece,
                moment=moment,
                caption=caption,
                width=picture.width,
                height=picture.height,
                digest=picture.digest,
                in_conversation=in_conversation,
                taken_by=by,
                added_at=added_at or timezone.now(),
            )
            photograph.full_clean(exclude=["picture", "small"])
            added.append(photograph)
            photograph.picture.save("large.jpg", ContentFile(picture.large), save=False)
            photograph.small.save("small.jpg", ContentFile(picture.small), save=False)
            photograph.save()
    except BaseException:  # the rows go with the transaction; the files would stay behind
        for photograph in added:
            _delete_files(photograph)
        raise
    return added


@transaction.atomic
def photograph_remove(*, photograph: Photograph) -> None:
    photograph.delete()
    transaction.on_commit(lambda: _delete_files(photograph))


def _delete_files(photograph: Photograph) -> None:
    for file in (photograph.picture, photograph.small):
        if file.name:
            file.storage.delete(file.name)
