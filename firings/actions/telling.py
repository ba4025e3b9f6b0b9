"""Tells people of firings that run: on the page and, for whoever wants it, by e-mail."""

import logging
from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from firings.models import Firing, Message, MessageKind, MessageWish, RunawayAlarm, Way
from firings.queries.logged_readings import logged_so_far
from firings.queries.telling import News, makers_to_tell, news_of, people_to_tell, way_of
from firings.queries.watching import firing_now, running_firings
from firings.wording import message_words
from studio import access, formats
from studio.actions.mail import mail_soon, site_address
from studio.models import Person, Studio

log = logging.getLogger(__name__)


def messages_tell(*, now: datetime | None = None) -> list[Message]:
    """What is news now, told to each once; a fault in one firing keeps nothing from the others."""
    moment, told = now or timezone.now(), []
    firings = list(running_firings())
    logged = logged_so_far(firings)
    with timezone.override(ZoneInfo(Studio.current().time_zone)):
        for firing in firings:
            try:
                for news in news_of(firing_now(firing, moment, logged[firing.pk])):
                    told += news_tell(news=news)
            except Exception:
                log.exception("Could not tell of firing %s.", firing.pk)
    return told


@transaction.atomic
def news_tell(*, news: News) -> list[Message]:
    """To whoever wants to be told of it and was not yet, also where two processes tell at once."""
    told = []
    for person, wish in people_to_tell(news.firing):
        way = way_of(wish, news.kind)
        if way == Way.NOT:
            continue
        message, is_new = Message.objects.get_or_create(
            person=person,
            firing=news.firing,
            kind=news.kind,
            defaults={
                "about_at": news.about_at,
                "temperature_c": news.temperature_c,
                "by_mail": way == Way.MAIL and bool(person.email),
            },
        )
        if is_new:
            told.append(message)
            if message.by_mail:
                _mail(message)
    return told


@transaction.atomic
def makers_tell(*, firing: Firing) -> list[Message]:
    """Whoever has pieces in an opened firing that nobody judged yet, once; not who opened it.

    On the site they wait on the front page; this is for whoever wants a mail.
    """
    assert firing.opened_at is not None  # noqa: S101  opened, by a constraint
    told = []
    for person, wish in makers_to_tell(firing):
        message, is_new = Message.objects.get_or_create(
            person=person,
            firing=firing,
            kind=MessageKind.TO_JUDGE,
            defaults={
                "about_at": firing.opened_at,
                "by_mail": wish.to_judge == Way.MAIL and bool(person.email),
            },
        )
        if is_new:
            told.append(message)
            if message.by_mail:
                _mail(message)
    return told


@transaction.atomic
def messages_see(*, person: Person, messages: Iterable[int]) -> int:
    """How many of these messages of theirs this person has seen now."""
    unseen = Message.objects.filter(person=person, pk__in=list(messages), seen_at=None)
    return unseen.update(seen_at=timezone.now())


@transaction.atomic
def wish_keep(*, person: Person, **wishes: str | bool) -> MessageWish:
    return MessageWish.objects.update_or_create(person=person, defaults=wishes)[0]


def runaway_mail(*, alarm: RunawayAlarm) -> None:
    """To all who may act, whatever they chose: it is the one message that nobody can do without."""
    firing = alarm.firing
    for person in Person.objects.filter(is_active=True).exclude(email=""):
        if access.may(person, "firing.open", firing):
            shown = formats.temperature(alarm.shown_c, person.unit)
            mail_soon(
                to=person,
                subject=f"{firing.kiln} climbs above its plan: switch it off at the isolator",
                words=f"{firing.kiln} showed {shown} and still climbs. Switch it off at the "
                "isolator or the plug. Don't open it.",
                link=site_address("firings:firing_now", firing.pk),
            )


def _mail(message: Message) -> None:
    firing = message.firing
    is_over = message.kind == MessageKind.TO_JUDGE
    where = ("firings:today",) if is_over else ("firings:firing_now", firing.pk)
    mail_soon(
        to=message.person,
        subject=f"{firing.kiln}: {message.get_kind_display()}",
        words=f"{firing.title or firing.revision.schedule.name}. "
        + message_words(message, message.person.unit),
        link=site_address(*where),
    )
