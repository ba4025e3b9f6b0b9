"""How a student comes on, what a class fired, and a portfolio to print."""

import csv
import io
from collections.abc import Callable
from typing import Any

import pandas as pd
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from firings.actions.photographs import photographs_add
from firings.actions.review import piece_review
from firings.models import Fault, LoadedPiece
from firings.pictures import prepare_picture
from studio.models import Person, TeachingClass
from studio.queries.rubric import rubric_of
from tests.factories import load_piece, make_class, make_firing, make_kiln, make_person
from tests.teaching_term import make_term

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def taught(instructor: Person, student: Person) -> TeachingClass:
    return make_class(instructor, students=[student])


@pytest.fixture
def pieces(taught: TeachingClass, instructor: Person, student: Person) -> list[LoadedPiece]:
    """Three out of one firing: judged −1, 0 and not at all; the first two reviewed 0 and 0."""
    firing = make_firing(student, state="opened", title="=A full shelf")
    made = [
        load_piece(firing, title=title, verdict=verdict)
        for title, verdict in (("=Tide bowl", -1), ("Ebb tile", 0), ("Shoal", None))
    ]
    criterion = rubric_of(None)[0]
    for number, loaded in enumerate(made[:2]):
        piece_review(
            loaded=loaded, by=instructor, verdict=0, comment="Even.",
            marks={criterion: 2 + number}, version=0,
        )  # fmt: skip
        Fault.objects.create(loaded_piece=loaded, kind="small_bubbles", noted_by=student)
    return made


def address(name: str, pk: int) -> str:
    return reverse(f"firings:{name}", args=[pk])


def read(client: Client, where: str) -> str:
    answer: Any = client.get(where)
    return b"".join(answer.streaming_content).decode("utf-8-sig")


def test_a_student_sees_how_they_come_on(
    pieces: list[LoadedPiece], student: Person, signed_in: SignIn
) -> None:
    client = signed_in(student)
    assert address("person_progress", student.pk) in client.get(f"/people/{student.pk}/").text
    page = client.get(address("person_progress", student.pk))
    found = page.context["progress"].agreement
    assert (found.pieces, found.same, found.leaning) == (2, 1, -0.5)
    for said in (
        "1 got the same verdict (50 %)",
        "Preparation",
        "2.5",
        "small bubbles between layers on 2 pieces",
        "The two verdicts differ",
    ):
        assert said in page.text


def test_only_they_their_instructors_and_keepers_see_it(
    pieces: list[LoadedPiece], student: Person, instructor: Person, keeper: Person, artist: Person,
    signed_in: SignIn,
) -> None:  # fmt: skip
    mate = make_person("tove", role="student")
    make_class(instructor, students=[student, mate], name="Both")
    other = make_person("petr", role="instructor")
    for name in ("person_progress", "person_progress_csv", "person_portfolio"):
        where = address(name, student.pk)
        for person in (student, instructor, keeper):
            assert signed_in(person).get(where).status_code == 200
        for person in (artist, mate, other):
            assert signed_in(person).get(where).status_code == 403


def test_progress_as_csv(pieces: list[LoadedPiece], student: Person, signed_in: SignIn) -> None:
    text = read(signed_in(student), address("person_progress_csv", student.pk))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["piece"] for row in rows] == ["Shoal", "Ebb tile", "'=Tide bowl"]
    assert rows[1]["marks"] == "preparation 3"
    frame = pd.read_csv(io.StringIO(text))
    assert frame["verdict (-2 to 2)"].tolist()[1:] == [0, -1]


def test_the_class_page_tells_who_fired_what(
    pieces: list[LoadedPiece], taught: TeachingClass, instructor: Person, student: Person,
    signed_in: SignIn,
) -> None:  # fmt: skip
    page = signed_in(instructor).get(address("class_progress", taught.pk))
    (row,) = page.context["progress"].students
    assert (row.fired, row.pieces, row.judged, row.reviewed, row.faulty) == (1, 3, 2, 2, 2)
    assert "Heron, 3 pieces" in page.text
    assert "=A full shelf" in page.text
    assert signed_in(student).get(address("class_progress", taught.pk)).status_code == 403
    text = read(signed_in(instructor), address("class_progress_csv", taught.pk))
    assert next(csv.DictReader(io.StringIO(text)))["with a fault"] == "2"


def test_a_term_is_told_by_as_many_queries_as_a_day(instructor: Person, signed_in: SignIn) -> None:
    client = signed_in(instructor)
    one = make_person("tove", role="student")
    small = make_class(instructor, students=[one])
    load_piece(make_firing(one, kiln=make_kiln("Bittern"), state="opened"))

    def asked(taught: TeachingClass) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address("class_progress", taught.pk)).status_code == 200
        return len(queries)

    asked(small)
    few = asked(small)
    term = make_term(instructor, students=8, weeks=3)
    assert asked(term.taught) == few


def test_portfolio_shows_pieces_with_their_photographs(
    pieces: list[LoadedPiece], student: Person, signed_in: SignIn
) -> None:
    client, where = signed_in(student), address("person_portfolio", student.pk)
    assert "No finished piece has a photograph" in client.get(where).text
    file = io.BytesIO()
    Image.new("RGB", (640, 480), "teal").save(file, "JPEG")
    file.seek(0)
    (photograph,) = photographs_add(
        firing=pieces[1].firing, by=student, pictures=[prepare_picture(file)]
    )
    photograph.loaded_piece, photograph.moment = pieces[1], "after"
    photograph.save()
    page = client.get(where)
    assert [each.pk for each in page.context["pieces"]] == [pieces[1].pk]
    assert f"/photographs/{photograph.pk}/large.jpg" in page.text
    assert "Preparation 3" not in page.text
    assert "Preparation 3" in client.get(where + "?marks=on").text
    chosen = client.get(where + f"?piece={pieces[0].pk}&piece={pieces[1].pk}")
    assert len(chosen.context["pieces"]) == 2
