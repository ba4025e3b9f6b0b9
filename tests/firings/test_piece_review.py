"""The review desk, and a piece that an instructor reviews."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.actions.photographs import photographs_add
from firings.actions.review import ReviewedMeanwhileError, piece_review
from firings.advice_inputs import past_firings
from firings.models import LoadedPiece, Review
from firings.queries.review import pieces_to_review
from firings.queries.tuning import firings_of_schedule
from studio.models import Person, RubricCriterion
from studio.pictures import prepare_picture
from studio.queries.rubric import rubric_of
from studio.services.glass import Glass
from tests.factories import load_piece, make_class, make_firing, make_person
from tests.firings.logger_files import recorded
from tests.firings.pictures import picture_file
from tests.teaching_term import make_term

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
DESK = "/review/"


@pytest.fixture
def waiting(instructor: Person, student: Person) -> LoadedPiece:
    make_class(instructor, students=[student])
    return load_piece(make_firing(student, state="opened"), wanted="soft edges", verdict=0)


def test_the_course_is_drawn_in_the_reader_s_unit(
    waiting: LoadedPiece, instructor: Person, signed_in: SignIn
) -> None:
    recorded(waiting.firing, by=instructor)
    for unit, said in (("C", "804 °C"), ("F", "1479 °F")):
        Person.objects.filter(pk=instructor.pk).update(unit=unit)
        page = signed_in(Person.objects.get(pk=instructor.pk)).get(address(waiting))
        assert {each.name for each in page.context["page"].drawings} == {"desk", "phone"}
        assert all(each.recorded for each in page.context["page"].drawings)
        assert said in page.context["page"].says.replace("\u00a0", " ")
        assert page.text.count('class="curve ') == 2


def test_of_a_firing_that_another_keeps_no_photograph_of_the_load_stands_there(
    waiting: LoadedPiece, instructor: Person, artist: Person, student: Person, signed_in: SignIn
) -> None:
    """Its maker's instructor reviews the piece, and sees of the load what its maker sees."""
    private = make_firing(artist, state="opened", is_private=True, notes="for a wedding")
    guest = load_piece(private, maker=student)
    for loaded in (waiting, guest):
        photographs_add(firing=loaded.firing, by=artist, pictures=[prepare_picture(picture_file())])
    open_page, kept_page = (signed_in(instructor).get(address(each)) for each in (waiting, guest))
    assert len(open_page.context["page"].photographs) == 1
    assert kept_page.context["page"].photographs == []


def address(loaded: LoadedPiece) -> str:
    return reverse("firings:piece_review", args=[loaded.pk])


def reviewed(loaded: LoadedPiece, by: Person, **given: Any) -> Review:
    usual: dict[str, Any] = {"verdict": -1, "comment": "", "marks": {}, "version": 0}
    return piece_review(loaded=loaded, by=by, **usual | given)


def test_desk_lists_what_waits_and_what_is_overdue(
    waiting: LoadedPiece, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    old = make_firing(
        student,
        state="opened",
        started_at=timezone.now() - timedelta(days=10),
        opened_at=timezone.now() - timedelta(days=8),
    )
    load_piece(old, title="Ebb tile")
    make_firing(student, planned_start=timezone.now() + timedelta(hours=3))
    page = signed_in(instructor).get(DESK).text
    for said in ("1 to clear, 2 to review", "2 overdue", "Tide blank", "Ebb tile"):
        assert said in page
    assert page.index("Ebb tile") < page.index("Tide blank"), "the oldest first"
    assert DESK in signed_in(instructor).get("/").text


def test_a_piece_is_reviewed_with_verdict_marks_and_comment(
    waiting: LoadedPiece, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    client = signed_in(instructor)
    page = client.get(address(waiting)).text
    for said in ("soft edges", "Preparation", "Load", "Schedule", "Finish", "What Ravi saw"):
        assert said in page
    first = rubric_of(None)[0]
    given = {"verdict": "-1", f"mark{first.pk}": "3", "comment": "Edges sharp.", "version": "0"}
    answer = client.post(address(waiting), given, follow=True)
    assert "Every opened piece is reviewed." in answer.text
    review = Review.objects.get()
    assert (review.verdict, review.reviewed_by, review.version) == (-1, instructor, 1)
    assert [(mark.criterion, mark.mark) for mark in review.marks.all()] == [(first, 3)]

    seen = signed_in(student).get(reverse("firings:piece_detail", args=[waiting.piece_id])).text
    for said in ("Edges sharp.", "The two verdicts differ", "Preparation 3"):
        assert said in seen


def test_what_was_opened_before_the_class_waits_for_nobody(
    instructor: Person, student: Person
) -> None:
    make_class(instructor, students=[student])
    long_ago = timezone.now() - timedelta(days=90)
    old = make_firing(
        student, state="opened", started_at=long_ago, opened_at=long_ago + timedelta(hours=20)
    )
    load_piece(old)
    assert not pieces_to_review(instructor).exists()
    load_piece(make_firing(student, state="opened"))
    assert pieces_to_review(instructor).count() == 1


def test_others_do_not_see_it(
    waiting: LoadedPiece, instructor: Person, student: Person, artist: Person, signed_in: SignIn
) -> None:
    reviewed(waiting, instructor, comment="Edges sharp.")
    mate = make_person("tove", role="student")
    make_class(instructor, students=[student, mate], name="Both")
    other = make_person("petr", role="instructor")
    detail = reverse("firings:piece_detail", args=[waiting.piece_id])
    firing = reverse("firings:firing_detail", args=[waiting.firing_id])
    for person in (artist, mate, other):
        for page in (detail, firing):
            assert "Edges sharp." not in signed_in(person).get(page).text
        assert signed_in(person).get(address(waiting)).status_code == 403
    assert "Edges sharp." in signed_in(student).get(firing).text


def test_save_and_next_goes_through_the_queue(
    waiting: LoadedPiece, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    second, third = (load_piece(waiting.firing, title=f"Tile {n}") for n in (2, 3))
    client = signed_in(instructor)
    page = client.get(address(second)).text
    assert f'rel="prev" href="{address(waiting)}"' in page
    assert f'rel="next" href="{address(third)}"' in page
    given = {"verdict": "0", "version": "0", "next": "yes"}
    for now, then in ((second, third), (third, waiting)):
        assert client.post(address(now), given).headers["Location"] == address(then), now
    assert client.post(address(waiting), given).headers["Location"] == DESK


def test_of_two_instructors_the_second_is_told_and_loses_nothing(
    waiting: LoadedPiece, instructor: Person, keeper: Person, signed_in: SignIn
) -> None:
    reviewed(waiting, keeper, comment="Well done.", verdict=0)
    with pytest.raises(ReviewedMeanwhileError, match="Mads reviewed it meanwhile"):
        reviewed(waiting, instructor)
    late = {"verdict": "-1", "comment": "Edges sharp.", "version": "0"}
    answer = signed_in(instructor).post(address(waiting), late)
    assert "Mads reviewed it meanwhile." in answer.text
    assert answer.context["form"]["comment"].value() == "Edges sharp."
    assert Review.objects.get().comment == "Well done."
    signed_in(instructor).post(address(waiting), late | {"version": "1"})
    assert Review.objects.get().comment == "Edges sharp."


def test_an_empty_review_and_a_wrong_mark_are_refused(
    waiting: LoadedPiece, instructor: Person, signed_in: SignIn
) -> None:
    client, first = signed_in(instructor), rubric_of(None)[0]
    empty = client.post(address(waiting), {"version": "0"})
    assert "Give a verdict, a comment or a mark." in empty.text
    answer = client.post(address(waiting), {"version": "0", f"mark{first.pk}": "7"})
    assert answer.context["form"].errors[f"mark{first.pk}"]
    assert Review.objects.count() == 0


def test_before_its_opening_nothing_is_reviewed(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    loaded = load_piece(make_firing(student, state="firing"))
    answer = signed_in(instructor).get(address(loaded), follow=True)
    assert "reviewed once its kiln was opened" in answer.text


def test_advice_counts_the_instructors_verdict(waiting: LoadedPiece, instructor: Person) -> None:
    schedule = waiting.firing.revision.schedule

    def learnt() -> list[int | None]:
        past = past_firings(firings_of_schedule(schedule, None), Glass())
        return [each.verdict for each in past]

    assert learnt() == [0]
    reviewed(waiting, instructor, verdict=-2)
    assert learnt() == [-2]
    reviewed(waiting, instructor, verdict=None, comment="Unclear.", version=1)
    assert learnt() == [0], "a review without a verdict leaves the maker's"


def test_a_class_marks_by_its_own_rubric_and_old_marks_stay(
    waiting: LoadedPiece, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    first = rubric_of(None)[0]
    reviewed(waiting, instructor, marks={first: 4})
    taught = student.class_memberships.get().teaching_class
    edit = reverse("studio:class_rubric", args=[taught.pk])
    client = signed_in(instructor)
    assert "stands above already" in client.post(edit, {"name1": "Cut", "name2": "cut"}).text
    assert "at least one criterion" in client.post(edit, {}).text
    client.post(edit, {"name1": "Cut", "meaning1": "Straight and ground", "name2": "Colour"})
    assert [each.name for each in rubric_of(taught)] == ["Cut", "Colour"]
    page = client.get(address(waiting)).text
    assert "Straight and ground" in page
    assert "Preparation" in page, "a mark that was given stays to be seen"
    client.post(edit, {"name1": "Colour"})
    assert [each.name for each in rubric_of(taught)] == ["Colour"]
    assert RubricCriterion.objects.get(name="Cut").retired_at is not None


def test_a_term_is_on_the_desk_with_a_dozen_queries(instructor: Person, signed_in: SignIn) -> None:
    term = make_term(instructor)
    client = signed_in(instructor)
    client.get(DESK)
    with CaptureQueriesContext(connection) as queries:
        page = client.get(DESK)
    assert len(queries) <= 12
    assert f"10 to clear, {len(term.waiting)} to review" in page.text
    assert "look at Wren, not at the students" in page.text
