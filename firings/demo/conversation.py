"""What people of the demo studio said about their latest firings."""

import io
from datetime import datetime, timedelta

from firings.actions.photographs import photographs_add
from firings.demo.rendering import Look, render
from firings.models import (
    Comment,
    CommentMailed,
    CommentsRead,
    Digest,
    Firing,
    FiringState,
    MessageWish,
    Photograph,
)
from firings.queries.conversation import new_comments
from studio.models import Person
from studio.pictures import prepare_picture


def conversation_make(people: dict[str, Person], now: datetime) -> None:
    oona, ravi, inka, wilf = (people[name] for name in ("oona", "ravi", "inka", "wilf"))
    of_ravi, of_inka = _latest(ravi), _latest(inka)
    planned = Firing.objects.filter(fired_by=ravi, state=FiringState.PLANNED).first()
    if of_ravi is not None:
        _say(of_ravi, ravi, now - timedelta(hours=30), "The rim is rounder on the left, I think.")
        _say(
            of_ravi,
            oona,
            now - timedelta(hours=27),
            "@ravi put it on a flat table and slide a card under it. Which way did it face?",
            mentions=ravi,
        )
        _say(
            of_ravi,
            ravi,
            now - timedelta(hours=4),
            "Left was toward the door, @oona. This is how it lay.",
            mentions=oona,
            photograph=_picture(of_ravi, ravi),
        )
        CommentsRead.objects.create(firing=of_ravi, person=oona, read_at=now - timedelta(hours=20))
    if planned is not None:
        _say(planned, ravi, now - timedelta(minutes=40), "It is 42 mm deep. I wrote it down.")
    if of_inka is not None:
        _say(of_inka, wilf, now - timedelta(hours=9), "What wash is under this one, @inka?", inka)
        hasty = _say(of_inka, wilf, now - timedelta(hours=10), "")
        hasty.taken_back_at = now - timedelta(hours=9, minutes=50)
        hasty.save()
    MessageWish.objects.create(person=oona, comments=Digest.DAILY)
    reader = Person.objects.get(pk=oona.pk)  # anew: with the ties of her class
    CommentMailed.objects.bulk_create(  # this morning's mail brought what there was
        CommentMailed(comment=comment, person=reader, mailed_at=now)
        for comment in new_comments(reader)
    )


def _latest(person: Person) -> Firing | None:
    opened = Firing.objects.filter(fired_by=person, state=FiringState.OPENED)
    return opened.order_by("-opened_at").first()


def _picture(firing: Firing, by: Person) -> Photograph:
    look = Look(shape="disc", base="lilac", heat=1.0, seed=7)
    (added,) = photographs_add(
        firing=firing,
        by=by,
        pictures=[prepare_picture(io.BytesIO(render(look)))],
        in_conversation=True,
    )
    return added


def _say(
    firing: Firing,
    by: Person,
    at: datetime,
    words: str,
    mentions: Person | None = None,
    photograph: Photograph | None = None,
) -> Comment:
    comment = Comment.objects.create(
        firing=firing, said_by=by, said_at=at, words=words, photograph=photograph
    )
    if mentions is not None:
        comment.mentions.set([mentions])
    return comment
