"""What was said about firings, as one person reads it: what is new to them, and where."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import (
    BooleanField,
    Case,
    Count,
    Exists,
    F,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
    Window,
)

from firings.models import Comment, CommentsRead, Firing, LoadedPiece
from firings.queries.open_firings import firings_open_to
from studio import access
from studio.models import Person, Role
from studio.teaching import keep_ties, taught_by

COMMENTS_A_PAGE = 25
CONVERSATIONS_A_PAGE = 25


@dataclass(frozen=True)
class Conversation:
    """The comments on one firing, or the latest of them, the oldest first."""

    firing: Firing
    comments: Sequence[Comment]
    earlier: int
    new: int

    @property
    def latest(self) -> Comment | None:
        return self.comments[-1] if self.comments else None


def conversation_of(firing: Firing, reader: Person) -> Conversation | None:
    """The latest comments in one query; None where this reader may not read them."""
    if not access.may(reader, "comment.read", firing):
        return None
    said = _said_of(firing, reader).annotate(
        in_all=Window(Count("*")), new_in_all=Window(Count("pk", filter=Q(is_new=True)))
    )
    latest = list(said[:COMMENTS_A_PAGE])
    if not latest:
        return Conversation(firing, (), 0, 0)
    first = latest[0]
    return Conversation(firing, latest[::-1], first.in_all - len(latest), first.new_in_all)


def conversation_page(
    firing: Firing, reader: Person, number: str | None
) -> tuple[Conversation, Page]:
    """One page of a long conversation; the first has the latest comments."""
    page = Paginator(_said_of(firing, reader), COMMENTS_A_PAGE).get_page(number)
    comments: list[Any] = list(page.object_list)[::-1]
    new = sum(each.is_new for each in comments)
    return Conversation(firing, comments, page.paginator.count - page.end_index(), new), page


def _said_of(firing: Firing, reader: Person) -> QuerySet[Comment]:
    """The latest first, with `is_new` and `names_reader`."""
    read_at = CommentsRead.objects.filter(firing=firing, person=reader).values("read_at")
    mentions = Comment.mentions.through.objects.filter(comment=OuterRef("pk"), person=reader)
    return (
        Comment.objects.filter(firing=firing)
        .select_related("said_by", "photograph")
        .alias(read_at=Subquery(read_at))
        .annotate(is_new=_truth(is_new_to(reader)), names_reader=Exists(mentions))
        .order_by("-said_at", "-pk")
    )


def is_new_to(reader: Person, path: str = "") -> Q:
    """Of comments at `path`, beside an alias `read_at`; nobody's own and none taken back is new."""
    later = Q(read_at=None) | Q((f"{path}said_at__gt", F("read_at")))
    return Q(later, ~Q((f"{path}said_by", reader)), (f"{path}taken_back_at", None))


def _truth(condition: Q) -> Case:
    return Case(When(condition, Value(True)), default=Value(False), output_field=BooleanField())


def concerning(person: Person) -> Q:
    """Firings in whose conversation somebody has a part: fired, made, said, mentioned or taught."""
    loaded = LoadedPiece.objects.filter(firing=OuterRef("pk"), piece__maker=person)
    said = Comment.objects.filter(firing=OuterRef("pk"), said_by=person)
    named = Comment.objects.filter(firing=OuterRef("pk"), mentions=person)
    mine = Q(fired_by=person) | Q(written_by=person)
    mine = mine | Q(Exists(loaded)) | Q(Exists(said)) | Q(Exists(named))
    if person.role == Role.INSTRUCTOR:
        return mine | Q(fired_by__in=taught_by(person))
    return mine


def new_comments(reader: Person) -> QuerySet[Comment]:
    """What is new to this reader in the firings that concern them, and that they may read."""
    mine = firings_open_to(reader, "comment.read").filter(concerning(reader))
    read_at = CommentsRead.objects.filter(firing=OuterRef("firing"), person=reader)
    return Comment.objects.alias(read_at=Subquery(read_at.values("read_at"))).filter(
        is_new_to(reader), firing__in=mine.values("pk")
    )


def comments_to_mail(reader: Person, since: datetime) -> list[Comment]:
    """What is new, was said since then, and went to this reader in no digest yet."""
    return list(
        new_comments(reader)
        .filter(said_at__gte=since)
        .exclude(mailed__person=reader)
        .select_related("said_by", "firing__kiln", "firing__revision__schedule")
        .order_by("firing", "said_at", "pk")
    )


@dataclass(frozen=True)
class SpokenOf:
    """A firing with how much was said of it, how much of that is new, and the latest of it."""

    firing: Firing
    said: int
    new: int
    latest: Comment | None


def conversations(reader: Person, *, of_all: bool, number: str | None) -> Page:
    """Of `SpokenOf`, what was last spoken of first: three queries."""
    firings = firings_open_to(reader, "comment.read")
    if not of_all:
        firings = firings.filter(concerning(reader))
    read_at = CommentsRead.objects.filter(firing=OuterRef("pk"), person=reader).values("read_at")
    stands = Q(comments__taken_back_at=None)
    listed = (
        firings.filter(Exists(Comment.objects.filter(firing=OuterRef("pk"))))
        .select_related("kiln", "fired_by", "revision__schedule")
        .annotate(
            read_at=Subquery(read_at),
            said=Count("comments", filter=stands),
            new=Count("comments", filter=is_new_to(reader, "comments__")),
            latest_at=Max("comments__said_at"),
        )
        .order_by("-latest_at", "-pk")
    )
    page: Page[Any] = Paginator(listed, CONVERSATIONS_A_PAGE).get_page(number)
    shown: list[Any] = list(page.object_list)
    latest = {
        each.firing_id: each
        for each in Comment.objects.filter(
            firing__in=[firing.pk for firing in shown],
            said_at__in=[firing.latest_at for firing in shown],
        ).select_related("said_by")
    }
    page.object_list = [
        SpokenOf(firing, firing.said, firing.new, latest.get(firing.pk)) for firing in shown
    ]
    return page


def readers_of(firing: Firing, people: Collection[Person]) -> list[Person]:
    """Those of these people who may read the comments of a firing; at most one query."""
    keep_ties(people)
    return [person for person in people if access.may(person, "comment.read", firing)]


def mentionable(firing: Firing, but: Person) -> list[Person]:
    """Who can be mentioned in a comment on this firing, by name."""
    others = Person.objects.filter(is_active=True).exclude(pk=but.pk)
    return readers_of(firing, list(others))
