"""What is said about a firing: added, taken back, and marked as read."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.actions.photographs import photograph_remove, photographs_add
from firings.models import Comment, CommentsRead, Firing, Photograph
from firings.queries.conversation import readers_of
from studio import access
from studio.models import Person
from studio.pictures import PreparedPicture


@transaction.atomic
def comment_add(
    *,
    firing: Firing,
    by: Person,
    words: str,
    mentions: Sequence[Person] = (),
    pictures: Sequence[PreparedPicture] = (),
) -> Comment:
    """With one photograph at the most.

    The firing's row is locked, so that comments stand in the order of their times, and the rights
    are asked as they stand by then: it may have been kept to itself meanwhile. `PermissionDenied`
    where `by` may not read along, `ValidationError` where one who is mentioned may not.
    """
    locked = Firing.objects.select_for_update(of=("self",)).select_related("fired_by")
    firing = locked.get(pk=firing.pk)
    access.require(by, "comment.read", firing)
    shut_out = set(mentions) - set(readers_of(firing, mentions))
    if shut_out:
        raise ValidationError({"words": [cannot_read(person) for person in shut_out]})
    comment = Comment(
        firing=firing,
        said_by=by,
        said_at=timezone.now(),
        words=words,
        photograph=_photograph_of(firing, by, pictures[0]) if pictures else None,
    )
    comment.full_clean()
    comment.save()
    comment.mentions.set(mentions)
    return comment


def cannot_read(person: Person) -> str:
    return f"{person} can’t read the comments on this firing, and so can’t be mentioned here."


def _photograph_of(firing: Firing, by: Person, picture: PreparedPicture) -> Photograph:
    """The same picture said twice is kept once."""
    added = photographs_add(firing=firing, by=by, pictures=[picture], in_conversation=True)
    if added:
        return added[0]
    return Photograph.everywhere.get(firing=firing, digest=picture.digest, in_conversation=True)


@transaction.atomic
def comment_take_back(*, comment: Comment) -> None:
    """Its place stays; its words, mentions and photograph go."""
    firing = Firing.objects.select_for_update().get(pk=comment.firing_id)
    comment = firing.comments.get(pk=comment.pk)
    if comment.taken_back_at is not None:
        return
    photograph = comment.photograph
    comment.words, comment.photograph = "", None
    comment.taken_back_at = timezone.now()
    comment.save(update_fields=["words", "photograph", "taken_back_at"])
    comment.mentions.clear()
    if photograph is not None and not photograph.comments.exists():
        photograph_remove(photograph=photograph)


@transaction.atomic
def comments_read(*, until: Comment, by: Person) -> None:
    """All of its firing up to this one; what came after it was on no page yet."""
    read, _ = CommentsRead.objects.get_or_create(
        firing_id=until.firing_id, person=by, defaults={"read_at": until.said_at}
    )
    if read.read_at < until.said_at:
        read.read_at = until.said_at
        read.save(update_fields=["read_at"])
