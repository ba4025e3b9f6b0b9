"""What is said about a firing: by whom, to whom, and who reads it."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.actions.conversation import comment_add, comment_take_back, comments_read
from firings.models import LONGEST_COMMENT, Comment, CommentsRead, Firing, Photograph
from firings.queries.conversation import conversation_of
from firings.queries.open_firings import firings_open_to
from studio import access
from studio.models import Person
from tests.at_once import at_once
from tests.factories import make_class, make_firing, make_person
from tests.firings.pictures import picture_file

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def firing(instructor: Person, student: Person) -> Firing:
    """Of a student, in the instructor's class."""
    make_class(instructor, students=[student])
    return make_firing(student, state="opened", title="Tide blank")


def at(view: str, *args: Any) -> str:
    return reverse(f"firings:{view}", args=args)


def say(client: Client, firing: Firing, words: str = "Edges sharp.", **more: Any) -> Any:
    return client.post(at("comments", firing.pk), {"words": words, **more})


def test_a_comment_stands_on_the_firings_page(
    firing: Firing, instructor: Person, student: Person, signed_in: SignedIn
) -> None:
    answer = say(signed_in(instructor), firing, "Edges <b>sharp</b>.\r\nMeasure the rim.")

    comment = Comment.objects.get()
    assert answer.url == f"{at('firing_detail', firing.pk)}#comment-{comment.pk}"
    assert (comment.said_by, comment.words) == (
        instructor,
        "Edges <b>sharp</b>.\nMeasure the rim.",
    )
    page = signed_in(student).get(at("firing_detail", firing.pk)).text
    assert "Edges &lt;b&gt;sharp&lt;/b&gt;.<br>Measure the rim." in page
    assert "1 new" in page


def test_script_gets_the_card(firing: Firing, student: Person, signed_in: SignedIn) -> None:
    told = {"words": "Edges sharp."}
    answer = signed_in(student).post(at("comments", firing.pk), told, headers=HTMX, follow=True)
    assert "<html" not in answer.text
    assert 'id="comments"' in answer.text
    assert "Edges sharp." in answer.text


@pytest.mark.parametrize("headers", [{}, HTMX])
@pytest.mark.parametrize(
    ("words", "told"),
    [
        (" ", "Write something first."),
        ("x" * (LONGEST_COMMENT + 1), f"At most {LONGEST_COMMENT} signs; this has"),
        ("Ask @nobody.", "Nobody here signs in as “nobody”."),
        ("Ask @tove.", "Tove can’t read the comments on this firing"),
    ],
)
def test_what_is_wrong_is_told_at_the_field(
    headers: dict[str, str],
    words: str,
    told: str,
    firing: Firing,
    student: Person,
    signed_in: SignedIn,
) -> None:
    make_person("tove", role="student")
    answer = signed_in(student).post(at("comments", firing.pk), {"words": words}, headers=headers)
    assert answer.status_code == 200
    assert told in answer.text
    assert words.strip() in answer.text, "what was typed stays"
    assert not Comment.objects.exists()


def test_length_counts_a_lines_end_once(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    lines = "x\r\n" * (LONGEST_COMMENT // 2 - 1) + "x"
    assert say(signed_in(student), firing, lines).status_code == 302


def test_readers_are_mentioned_by_their_names(
    firing: Firing, instructor: Person, student: Person, signed_in: SignedIn
) -> None:
    say(signed_in(student), firing, "@Oona: 10 min @804 were too short.")
    assert list(Comment.objects.get().mentions.all()) == [instructor]
    page = signed_in(instructor).get(at("firing_detail", firing.pk)).text
    assert "mentions you" in page


def test_the_conversations_page_lists_who_can_be_mentioned(
    firing: Firing, student: Person, keeper: Person, artist: Person, signed_in: SignedIn
) -> None:
    page = signed_in(student).get(at("comments", firing.pk)).text
    assert "@oona" in page
    assert "@mads" in page
    assert "@inka" not in page


def test_only_addresses_of_this_site_are_links(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    here = "http://testserver"
    words = (
        f"{here}{at('firing_detail', firing.pk)}#pieces, http://elsewhere.example/x "
        f"{here}//elsewhere.example/ {here}/\\elsewhere.example javascript:alert(1)"
    )
    say(signed_in(student), firing, words)
    card = signed_in(student).get(at("comments", firing.pk), headers=HTMX).text
    assert f'<a href="{at("firing_detail", firing.pk)}#pieces">' in card
    assert 'href="http' not in card
    assert 'href="//' not in card
    assert 'href="/\\' not in card
    assert 'href="javascript' not in card


def test_a_photograph_is_seen_by_readers_alone(
    firing: Firing,
    instructor: Person,
    student: Person,
    artist: Person,
    keeper: Person,
    signed_in: SignedIn,
) -> None:
    mate = make_person("tove", role="student")
    make_class(instructor, students=[student, mate], name="Both")
    other = make_person("petr", role="instructor")
    say(signed_in(student), firing, photographs=picture_file())
    photograph = Comment.objects.get().photograph
    for size in ("small", "large"):
        address = at("photograph_file", photograph.pk, size)
        for reader in (student, instructor, keeper):
            assert signed_in(reader).get(address).status_code == 200
        for reader in (artist, mate, other):
            assert signed_in(reader).get(address).status_code == 403
            assert address not in signed_in(reader).get(at("firing_detail", firing.pk)).text
    assert not firing.photographs.exists(), "it stands in no list of the firing's photographs"
    trail = reverse("studio:trail_detail", args=["firing", firing.pk])
    assert "photograph" not in signed_in(artist).get(trail).text.lower()
    removing = at("photograph_remove", photograph.pk)
    assert signed_in(student).post(removing).status_code == 404


def test_the_same_picture_in_record_and_comments(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    client = signed_in(student)
    for _ in range(2):
        say(client, firing, photographs=picture_file())
    client.post(at("photograph_add", firing.pk), {"photographs": picture_file(), "moment": "after"})
    assert Photograph.everywhere.filter(in_conversation=True).count() == 1
    assert firing.photographs.count() == 1
    first, second = Comment.objects.all()
    comment_take_back(comment=first)
    assert Photograph.everywhere.count() == 2, "another comment still shows it"
    comment_take_back(comment=second)
    assert list(Photograph.everywhere.all()) == list(firing.photographs.all())


def test_two_photographs_are_one_too_many(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    two = [picture_file(), picture_file("b.jpg", "red")]
    answer = say(signed_in(student), firing, photographs=two)
    assert "At most 1 at once." in answer.text
    assert not Comment.objects.exists()


def test_a_comment_is_taken_back_by_who_said_it(
    firing: Firing,
    instructor: Person,
    student: Person,
    signed_in: SignedIn,
    django_capture_on_commit_callbacks: Any,
) -> None:
    say(signed_in(instructor), firing, "@ravi, edges sharp.", photographs=picture_file())
    comment = Comment.objects.get()
    files = [comment.photograph.picture.name, comment.photograph.small.name]
    assert signed_in(student).post(at("comment_take_back", comment.pk)).status_code == 403
    with django_capture_on_commit_callbacks(execute=True):
        signed_in(instructor).post(at("comment_take_back", comment.pk))
    comment.refresh_from_db()
    assert (comment.words, comment.photograph, comment.mentions.count()) == ("", None, 0)
    assert not any(default_storage.exists(name) for name in files)
    page = signed_in(student).get(at("firing_detail", firing.pk)).text
    assert "Taken back on " in page
    assert "edges sharp" not in page
    assert "1 new" not in page


def test_the_trail_tells_who_said_something_and_took_it_back_without_its_words(
    firing: Firing, instructor: Person, student: Person, artist: Person, signed_in: SignedIn
) -> None:
    say(signed_in(instructor), firing, "Edges sharp.")
    comment = Comment.objects.get()
    address = reverse("studio:trail_detail", args=["firing", firing.pk])
    assert "Comment Oona" in signed_in(student).get(address).text

    signed_in(instructor).post(at("comment_take_back", comment.pk))

    page = signed_in(student).get(address).text
    assert "Taken back: " in page
    assert "by Oona" in page
    assert "Edges sharp" not in page
    others = signed_in(artist).get(address)
    assert others.status_code == 200
    assert "Comment" not in others.text, "who may not read the comments"


def test_form_sent_twice_makes_one_comment(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    key = str(uuid4())
    for _ in range(2):
        assert say(signed_in(student), firing, form_key=key).status_code == 302
    assert Comment.objects.count() == 1


def test_read_up_to_what_the_page_showed(
    firing: Firing, instructor: Person, student: Person, signed_in: SignedIn
) -> None:
    shown, later = (
        comment_add(firing=firing, by=instructor, words=words) for words in ("One.", "Two.")
    )
    client = signed_in(student)
    read = at("comments_read", firing.pk)
    client.post(read, {"until": shown.pk})
    talk = conversation_of(firing, student)
    assert [each.is_new for each in talk.comments] == [False, True]
    assert (talk.new, talk.latest) == (1, later)
    assert client.post(read, {"until": later.pk}, headers=HTMX).content == b""
    client.post(read, {"until": shown.pk})
    assert CommentsRead.objects.get().read_at == later.said_at, "never back again"


def test_anothers_comment_marks_nothing(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    elsewhere = make_firing(student, revision=firing.revision, kiln=firing.kiln)
    comment = comment_add(firing=elsewhere, by=student, words="Here.")
    signed_in(student).post(at("comments_read", firing.pk), {"until": comment.pk})
    assert not CommentsRead.objects.exists()


def test_a_firing_that_was_kept_to_itself_meanwhile(
    artist: Person, student: Person, keeper: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist, state="opened")
    comment_add(firing=firing, by=student, words="How hot was it?")
    stale = Firing.objects.select_related("fired_by").get(pk=firing.pk)
    Firing.objects.filter(pk=firing.pk).update(is_private=True)
    assert say(signed_in(student), firing).status_code == 403
    assert "How hot" not in signed_in(student).get(at("firing_detail", firing.pk)).text
    assert "How hot" in signed_in(artist).get(at("firing_detail", firing.pk)).text
    with pytest.raises(PermissionDenied):
        comment_add(firing=stale, by=student, words="Again.")
    with pytest.raises(ValidationError, match="can’t read"):
        comment_add(firing=stale, by=artist, words="@ravi", mentions=[student])
    comment_add(firing=stale, by=artist, words="@mads", mentions=[keeper])
    assert Comment.objects.count() == 2


def test_the_condition_on_many_firings_says_what_the_rights_say(
    instructor: Person, student: Person, keeper: Person, artist: Person
) -> None:
    mate, far = (make_person(name, role="student") for name in ("tove", "nils"))
    other, free = (make_person(name, role="instructor") for name in ("petr", "ines"))
    make_class(instructor, students=[student, mate])
    make_class(other, students=[far], name="Others")
    alone = make_person("solveig", role="student")
    everybody = (instructor, student, keeper, artist, mate, far, other, free, alone)
    first = make_firing(artist)
    for owner in everybody:
        for private in (False, True):
            make_firing(owner, revision=first.revision, kiln=first.kiln, is_private=private)
    written_for = make_firing(far, revision=first.revision, kiln=first.kiln)
    Firing.objects.filter(pk=written_for.pk).update(written_by=artist)
    firings = list(Firing.objects.select_related("fired_by"))
    for person in Person.objects.all():
        for act in ("comment.read", "firing.see", "firing.see_load", "firing.clear"):
            allowed = {each.pk for each in firings if access.may(person, act, each)}
            assert {each.pk for each in firings_open_to(person, act)} == allowed, (person, act)


def test_wrong_method(firing: Firing, student: Person, signed_in: SignedIn) -> None:
    comment = comment_add(firing=firing, by=student, words="Here.")
    client = signed_in(student)
    for address in (at("comments_read", firing.pk), at("comment_take_back", comment.pk)):
        assert client.get(address).status_code == 405


def test_a_long_conversation_shows_its_end_and_leads_to_the_rest(
    firing: Firing, student: Person, signed_in: SignedIn
) -> None:
    for number in range(30):
        comment_add(firing=firing, by=student, words=f"Number {number}.")
    page = signed_in(student).get(at("firing_detail", firing.pk)).text
    assert "5 earlier" in page
    assert "Number 4." not in page
    assert page.index("Number 5.") < page.index("Number 29.")
    second = signed_in(student).get(at("comments", firing.pk) + "?page=2").text
    assert second.index("Number 0.") < second.index("Number 4.")
    assert "Number 5." not in second


def test_query_counts_stay(
    firing: Firing, instructor: Person, student: Person, signed_in: SignedIn
) -> None:
    def add(number: int) -> None:
        person = make_person(f"teacher{number}", role="instructor")
        make_class(person, students=[student], name=f"Class {number}")
        picture = picture_file(colour=f"#{number:06x}")
        say(signed_in(person), firing, "@ravi @oona", photographs=picture)

    def counted(address: str) -> int:
        client = signed_in(student)
        client.get(address)
        with CaptureQueriesContext(connection) as seen:
            client.get(address)
        return len(seen)

    addresses = [at("firing_detail", firing.pk), at("comments", firing.pk)]
    add(1)
    before = [counted(address) for address in addresses]
    for number in range(2, 6):
        add(number)
    assert [counted(address) for address in addresses] == before


@pytest.mark.django_db(transaction=True)
def test_two_read_at_once(student: Person) -> None:
    """Both mark a firing as read for the first time: one row, and no fault."""
    firing = make_firing(student)
    comment = comment_add(firing=firing, by=student, words="Here.")
    at_once(lambda _: comments_read(until=comment, by=student), range(2))
    assert CommentsRead.objects.count() == 1
