"""The list of conversations, the count on Today, and the mail of a day."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.core import mail
from django.test import Client
from django.urls import reverse

from firings.actions.conversation import comment_add, comment_take_back, comments_read
from firings.actions.digests import digests_send
from firings.models import Comment, CommentMailed, Firing, MessageWish
from studio.models import Person, Studio
from tests.at_once import at_once
from tests.factories import load_piece, make_class, make_firing, make_person

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
LIST = "/conversations/"
MORNING = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock() -> Any:
    with time_machine.travel(MORNING, tick=False) as travelled:
        yield travelled


@pytest.fixture
def firing(instructor: Person, student: Person) -> Firing:
    make_class(instructor, students=[student])
    return make_firing(student, state="opened", title="Tide blank")


def wishes_mail(person: Person) -> Person:
    person.email = f"{person.sign_in_name}@millrace.example"
    person.save()
    MessageWish.objects.create(person=person, comments="daily")
    return person


def test_those_that_concern_me_come_first(
    firing: Firing, instructor: Person, student: Person, artist: Person, signed_in: SignedIn
) -> None:
    comment_add(firing=firing, by=student, words="Was it hot enough?")
    of_artist = make_firing(artist, revision=firing.revision, title="Harbour tile")
    comment_add(firing=of_artist, by=artist, words="Level again.")
    client = signed_in(instructor)
    mine = client.get(LIST).text
    assert "Tide blank" in mine
    assert "Was it hot enough?" in mine
    assert "1 new" in mine
    assert "Harbour tile" not in mine
    every = client.get(LIST + "?all").text
    assert every.index("Harbour tile") < every.index("Tide blank"), "the last spoken of first"
    assert LIST in client.get("/").text
    assert "1 new comment<" in client.get("/").text


def test_what_one_may_not_read_is_in_no_list(
    firing: Firing, student: Person, artist: Person, signed_in: SignedIn
) -> None:
    comment_add(firing=firing, by=student, words="Was it hot enough?")
    load_piece(firing, maker=artist)  # a part in it gives no right
    assert "Tide blank" not in signed_in(artist).get(LIST + "?all").text
    assert "new comment" not in signed_in(artist).get("/").text


@pytest.mark.parametrize("way", ["made", "said", "mentioned", "wrote"])
def test_a_part_in_a_firing_makes_it_ones_own(
    way: str, artist: Person, student: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened", title="Tide blank")
    if way == "made":
        load_piece(firing, maker=student)
    elif way == "said":
        comment_add(firing=firing, by=student, words="How hot?")
    elif way == "wrote":
        Firing.objects.filter(pk=firing.pk).update(written_by=student)
    comment_add(
        firing=firing, by=artist, words="Even.", mentions=[student] if way == "mentioned" else []
    )
    assert "1 new" in signed_in(student).get(LIST).text


def test_read_taken_back_and_own_are_not_new(
    firing: Firing, instructor: Person, student: Person, signed_in: SignedIn
) -> None:
    read = comment_add(firing=firing, by=instructor, words="One.")
    comments_read(until=read, by=student)
    comment_add(firing=firing, by=student, words="Two.")
    comment_take_back(comment=comment_add(firing=firing, by=instructor, words="Three."))
    client = signed_in(student)
    assert "new comment" not in client.get("/").text
    page = client.get(LIST).text
    assert " new</span>" not in page
    assert "2 comments" in page


def test_list_keeps_its_query_count(
    firing: Firing,
    instructor: Person,
    student: Person,
    signed_in: SignedIn,
    django_assert_num_queries: Any,
    django_assert_max_num_queries: Any,
) -> None:
    client = signed_in(instructor)
    comment_add(firing=firing, by=student, words="One.")
    client.get(LIST)
    with django_assert_max_num_queries(8) as first:
        client.get(LIST)
    for number in range(8):
        another = make_firing(student, revision=firing.revision)
        comment_add(firing=another, by=make_person(f"keeper{number}", role="keeper"), words="Two.")
    with django_assert_num_queries(len(first.captured_queries)):
        client.get(LIST)


def test_a_day_brings_one_mail_with_each_comment_once(
    firing: Firing, instructor: Person, student: Person, settings: Any, clock: Any
) -> None:
    settings.SITE_ADDRESS = "https://studio.example"
    wishes_mail(student)
    comment_add(firing=firing, by=instructor, words="Edges <sharp> & even.")
    comment_add(firing=firing, by=student, words="Thank you.")
    assert digests_send() == [student]
    (sent,) = mail.outbox
    assert sent.to == ["ravi@millrace.example"]
    assert "1 new comment" in sent.subject
    assert "Edges <sharp> & even." in sent.body
    assert "Thank you." not in sent.body, "nobody is mailed their own words"
    assert f"https://studio.example{reverse('firings:comments', args=[firing.pk])}" in sent.body

    clock.shift(timedelta(hours=2))
    comment_add(firing=firing, by=instructor, words="Measure the rim.")
    assert digests_send() == [], "one a day"
    clock.shift(timedelta(days=1))
    assert digests_send() == [student]
    assert "Measure the rim." in mail.outbox[1].body
    assert "sharp" not in mail.outbox[1].body
    clock.shift(timedelta(days=1))
    assert digests_send() == []


def test_not_before_the_studios_morning(
    firing: Firing, instructor: Person, student: Person, clock: Any
) -> None:
    studio = Studio.current()
    studio.time_zone = "America/Halifax"  # three hours behind, in March with summer time
    studio.save()
    wishes_mail(student)
    comment_add(firing=firing, by=instructor, words="Edges sharp.")
    assert digests_send() == []
    clock.shift(timedelta(hours=2))
    assert digests_send() == [student]


def test_no_mail_of_what_its_reader_may_not_see(
    artist: Person, student: Person, instructor: Person
) -> None:
    wishes_mail(student)
    firing = make_firing(artist, state="opened")
    load_piece(firing, maker=student)
    comment_add(firing=firing, by=artist, words="Edges sharp.")
    Firing.objects.filter(pk=firing.pk).update(is_private=True)
    assert digests_send() == []
    Firing.objects.filter(pk=firing.pk).update(is_private=False)
    comment_take_back(comment=Comment.objects.get())
    assert digests_send() == []
    assert not mail.outbox


@pytest.mark.parametrize("lacks", ["wish", "address", "account", "unread"])
def test_nobody_is_mailed_without(
    lacks: str, firing: Firing, instructor: Person, student: Person
) -> None:
    wishes_mail(student)
    comment = comment_add(firing=firing, by=instructor, words="Edges sharp.")
    if lacks == "wish":
        MessageWish.objects.update(comments="never")
    elif lacks == "unread":
        comments_read(until=comment, by=student)
    else:
        changed = {"address": {"email": ""}, "account": {"is_active": False}}[lacks]
        Person.objects.filter(pk=student.pk).update(**changed)
    assert digests_send() == []


def test_a_mail_that_fails_goes_later(
    firing: Firing, instructor: Person, student: Person, settings: Any, caplog: Any
) -> None:
    wishes_mail(student)
    comment_add(firing=firing, by=instructor, words="Edges sharp.")
    works, settings.EMAIL_BACKEND = (
        settings.EMAIL_BACKEND,
        "django.core.mail.backends.smtp.EmailBackend",
    )
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # nobody listens there
    assert digests_send() == []
    assert "was not sent" in caplog.text
    assert not CommentMailed.objects.exists()
    settings.EMAIL_BACKEND = works
    assert digests_send() == [student]


def test_the_wish_stands_with_the_others(student: Person, signed_in: SignedIn) -> None:
    address = reverse("firings:message_wishes")
    given = dict.fromkeys(("peak_near", "falls_behind", "cool_enough"), "page")
    signed_in(student).post(address, given | {"comments": "daily", "to_judge": "page"})
    assert MessageWish.objects.get().comments == "daily"
    assert "once a day, in one e-mail" in signed_in(student).get(address).text


@pytest.mark.django_db(transaction=True)
def test_two_senders_at_once_send_one_mail(instructor: Person, student: Person) -> None:
    firing = make_firing(student, state="opened")
    wishes_mail(student)
    comment_add(firing=firing, by=instructor, words="Edges sharp.")
    sent = at_once(lambda _: digests_send(), range(2))
    assert sorted(sent, key=len) == [[], [student]]
    assert len(mail.outbox) == 1
