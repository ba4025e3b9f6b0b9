"""Mails what was said about firings, once a day, to whoever wants it."""

import logging
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.utils import timezone

from firings.models import Comment, CommentMailed, Digest, MessageWish
from firings.queries.conversation import comments_to_mail
from studio.models import Person, Studio

log = logging.getLogger(__name__)
NOT_BEFORE = time(7)
"""In the studio's zone: a digest is there in the morning."""
LOOKS_BACK = timedelta(days=7)
"""What is older was mailed, or was said before somebody wished for mails."""


def digests_send(*, now: datetime | None = None) -> list[Person]:
    """To everybody who is due; those to whom one went. One that fails is tried again."""
    moment = now or timezone.now()
    studio = Studio.current()
    with timezone.override(ZoneInfo(studio.time_zone)):
        if timezone.localtime(moment).time() < NOT_BEFORE:
            return []
        due = (
            Person.objects.filter(is_active=True, message_wish__comments=Digest.DAILY)
            .exclude(email="")
            .exclude(pk__in=_mailed_on_the_day_of(moment).values("person"))
        )
        return [person for person in due if _digest_send(person, moment, studio)]


def _mailed_on_the_day_of(now: datetime) -> QuerySet[CommentMailed]:
    midnight = timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)
    return CommentMailed.objects.filter(mailed_at__gte=midnight)


def _digest_send(person: Person, now: datetime, studio: Studio) -> bool:
    comments = _claim(person, now)
    if not comments:
        return False
    try:
        _mail(person, comments, studio)
    except Exception:  # mostly a mail server that is not there, or says no
        log.exception("The digest for %s was not sent.", person.sign_in_name)
        CommentMailed.objects.filter(person=person, comment__in=comments).delete()
        return False
    return True


@transaction.atomic
def _claim(person: Person, now: datetime) -> list[Comment]:
    """What this mail is to bring, marked before it goes: of two senders at once one has it.

    A wish taken back meanwhile leaves nothing to bring.
    """
    wish = MessageWish.objects.select_for_update().get(person=person)
    had_one = _mailed_on_the_day_of(now).filter(person=person)
    if wish.comments != Digest.DAILY or had_one.exists():
        return []
    comments = comments_to_mail(person, now - LOOKS_BACK)
    CommentMailed.objects.bulk_create(
        CommentMailed(comment=comment, person=person, mailed_at=now) for comment in comments
    )
    return comments


def _mail(person: Person, comments: list[Comment], studio: Studio) -> None:
    count = "1 new comment" if len(comments) == 1 else f"{len(comments)} new comments"
    page = {
        "studio": studio,
        "person": person,
        "comments": comments,
        "address": settings.SITE_ADDRESS,
    }
    words = render_to_string("firings/comments_digest.txt", page)
    send_mail(f"{studio.name}: {count}", words, None, [person.email])
