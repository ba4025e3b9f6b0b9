"""How a student comes on, what a class fired, and a portfolio to print."""

import csv
import io
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from firings.actions.photographs import photographs_add
from firings.actions.review import piece_review
from firings.models import Fault, LoadedPiece, Photograph
from firings.progress_charts import marks_drawing
from firings.queries.progress import MarkLine
from studio.models import Person, TeachingClass
from studio.pictures import prepare_picture
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


def picture_of(loaded: LoadedPiece, *, by: Person, names_piece: bool = True) -> Photograph:
    """Of the finished piece, in a colour of its own, so that none is the same as another."""
    file = io.BytesIO()
    Image.new("RGB", (640, 480), (loaded.pk % 256, 120, 90)).save(file, "JPEG")
    file.seek(0)
    (photograph,) = photographs_add(
        firing=loaded.firing, by=by, pictures=[prepare_picture(file)], moment="after"
    )
    if names_piece:
        photograph.loaded_piece = loaded
        photograph.save()
    return photograph


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


def test_the_class_by_piece_is_one_row_each(
    pieces: list[LoadedPiece], taught: TeachingClass, instructor: Person, student: Person,
    artist: Person, signed_in: SignIn,
) -> None:  # fmt: skip
    mate = make_person("ants", role="student", name="Ants Aru")
    taught.members.create(person=mate)
    load_piece(make_firing(mate, state="opened", is_private=True), title="Kept", verdict=2)
    load_piece(make_firing(artist, state="opened"), title="Not of the class", verdict=0)
    page, where = (address(name, taught.pk) for name in ("class_progress", "class_pieces_csv"))
    assert where in signed_in(instructor).get(page).text
    assert signed_in(student).get(where).status_code == 403
    rows = list(csv.DictReader(io.StringIO(read(signed_in(instructor), where))))
    assert [row["piece"] for row in rows] == ["Kept", "'=Tide bowl", "Ebb tile", "Shoal"]
    assert [row["maker"] for row in rows] == ["Ants Aru", "Ravi", "Ravi", "Ravi"]
    row = rows[1]
    assert (row["firing"], row["kiln"]) == (str(pieces[0].firing_id), "Heron")
    assert (row["schedule"], row["process"]) == ("Full fuse, two layers", "full fuse")
    assert (row["verdict (-2 to 2)"], row["instructor's verdict (-2 to 2)"]) == ("-1", "0")
    assert (row["opened"], row["faults"]) == (
        f"{timezone.localtime(pieces[0].firing.opened_at):%Y-%m-%d}",
        "small bubbles between layers",
    )


def test_who_teaches_a_student_no_more_reads_no_review_of_theirs(
    pieces: list[LoadedPiece], taught: TeachingClass, student: Person, keeper: Person,
    signed_in: SignIn,
) -> None:  # fmt: skip
    """A student of two classes, one of them over for long: each is read by its own instructor."""
    other = make_person("petr", role="instructor")
    now = timezone.now()
    TeachingClass.objects.update(starts_on=(now - timedelta(weeks=1)).date())
    past = make_class(
        other,
        students=[student],
        starts_on=(now - timedelta(weeks=30)).date(),
        ends_on=(now - timedelta(weeks=10)).date(),
    )
    before = now - timedelta(weeks=12)
    firing = make_firing(
        student, state="opened", started_at=before, opened_at=before + timedelta(hours=20)
    )
    loaded = load_piece(firing, title="Old", verdict=1)
    piece_review(loaded=loaded, by=keeper, verdict=-1, comment="Mine.", marks={}, version=0)

    def row(person: Person) -> dict[str, str]:
        text = read(signed_in(person), address("class_pieces_csv", past.pk))
        (found,) = csv.DictReader(io.StringIO(text))
        return found

    said = ("verdict (-2 to 2)", "instructor's verdict (-2 to 2)", "comment")
    assert [row(keeper)[name] for name in said] == ["1", "-1", "Mine."]
    assert [row(other)[name] for name in said] == ["1", "", ""]


def test_a_term_is_told_by_as_many_queries_as_a_day(instructor: Person, signed_in: SignIn) -> None:
    client = signed_in(instructor)
    one = make_person("tove", role="student")
    small = make_class(instructor, students=[one])
    load_piece(make_firing(one, kiln=make_kiln("Bittern"), state="opened"))

    def asked(taught: TeachingClass) -> list[int]:
        counts = []
        for name in ("class_progress", "class_pieces_csv"):
            with CaptureQueriesContext(connection) as queries:
                answer: Any = client.get(address(name, taught.pk))
                assert answer.status_code == 200
                assert b"".join(answer)
            counts.append(len(queries))
        return counts

    asked(small)
    few = asked(small)
    term = make_term(instructor, students=8, weeks=3)
    assert asked(term.taught) == few


def test_many_pieces_are_told_by_as_many_queries_as_one(
    instructor: Person, signed_in: SignIn
) -> None:
    client, criterion = signed_in(instructor), rubric_of(None)[0]

    def asked(student: Person, name: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address(name, student.pk)).status_code == 200
        return len(queries)

    def work(student: Person, pieces: int) -> None:
        make_class(instructor, students=[student], name=student.name)
        for number in range(pieces):
            firing = make_firing(student, state="opened", is_private=bool(number % 2))
            judge = make_person(f"{student.name}{number}", role="instructor")
            loaded = load_piece(firing, verdict=0, judged_by=judge, judged_at=firing.opened_at)
            picture_of(loaded, by=student)
            piece_review(
                loaded=loaded, by=judge, verdict=0, comment="", marks={criterion: 3}, version=0
            )

    one, many = (make_person(name, role="student") for name in ("tove", "arno"))
    work(one, 1)
    work(many, 6)
    for name in ("person_progress", "person_portfolio"):
        asked(one, name)
        assert asked(one, name) == asked(many, name), name


def test_marks_are_drawn_over_time(instructor: Person, student: Person) -> None:
    days = [date(2026, 3, 2), date(2026, 3, 2), date(2026, 3, 12)]
    lines = [MarkLine("finish", list(zip(days, (1, 4, 2), strict=True)))]
    drawing = marks_drawing(lines)
    assert drawing is not None
    assert drawing.ends == (days[0], days[-1])
    (lane,) = drawing.lanes
    (first, second, third) = lane.dots
    assert first[0] == second[0] < third[0] <= drawing.right
    assert (first[1], second[1]) == (lane.bottom, lane.top), "1 below, 4 above"
    assert lane.top < third[1] < lane.bottom
    assert marks_drawing([MarkLine("finish", lines[0].marks[:2])]) is None


def test_week_by_week_and_who_judged_nothing(instructor: Person, signed_in: SignIn) -> None:
    diligent, silent, gone, later = (
        make_person(name, role="student") for name in ("tove", "arno", "ines", "juno")
    )
    taught = make_class(
        instructor,
        students=[diligent, silent, gone, later],
        starts_on=timezone.localdate() - timedelta(weeks=3),
    )
    now = timezone.now()

    def opened(maker: Person, weeks: int, **facts: Any) -> LoadedPiece:
        at = now - timedelta(weeks=weeks)
        firing = make_firing(
            maker, state="opened", started_at=at - timedelta(hours=20), opened_at=at
        )
        return load_piece(firing, **facts)

    agreed = opened(diligent, 2, verdict=0)
    opened(diligent, 2, verdict=1)
    opened(diligent, 0, verdict=0)
    opened(silent, 1)
    piece_review(loaded=agreed, by=instructor, verdict=-1, comment="", marks={}, version=0)
    opened(gone, 2, verdict=0)
    opened(gone, 0, verdict=0)
    taught.members.filter(person=gone).update(left_at=now - timedelta(weeks=1))
    page = signed_in(instructor).get(address("class_progress", taught.pk))
    progress = page.context["progress"]
    rows = {row.person: row for row in progress.students}
    weeks = [(week.as_wanted, week.pieces) for week in rows[diligent].weeks]
    assert weeks == [(0, 0), (0, 2), (0, 0), (1, 1)], "the instructor's verdict counts"
    assert (rows[diligent].agreement.same, rows[diligent].agreement.pieces) == (0, 1)
    assert rows[gone].pieces == 1, "what was fired after leaving is not the class's"
    assert [row.person for row in progress.nothing_judged] == [silent, later]
    for said in ("1 piece out of a kiln, no verdict", "no piece out of a kiln", "0 of 2"):
        assert said in page.text
    text = read(signed_in(instructor), address("class_progress_csv", taught.pk))
    frame = pd.read_csv(io.StringIO(text)).set_index("student")
    assert frame.loc["Tove"].iloc[-4:].tolist() == [0, 2, 0, 1]
    assert frame.loc["Tove", "judged by both"] == 1


def test_a_portfolio_holds_no_picture_that_its_reader_may_not_see(
    student: Person, artist: Person, instructor: Person, signed_in: SignIn
) -> None:
    make_class(instructor, students=[student])
    private = make_firing(artist, state="opened", is_private=True)
    of_load = picture_of(load_piece(private, maker=student), by=artist, names_piece=False)
    for person, sees in ((student, False), (instructor, False)):
        page = signed_in(person).get(address("person_portfolio", student.pk))
        assert (f"/photographs/{of_load.pk}/" in page.text) is sees
        photograph = reverse("firings:photograph_file", args=[of_load.pk, "large"])
        assert (signed_in(person).get(photograph).status_code == 200) is sees


def test_a_load_of_one_piece_lends_it_its_photograph(student: Person, signed_in: SignIn) -> None:
    alone = load_piece(make_firing(student, state="opened"), title="Alone")
    beside = load_piece(make_firing(student, state="opened"), title="Beside")
    load_piece(beside.firing, maker=make_person("tove", role="student"))
    for loaded in (alone, beside):
        picture_of(loaded, by=student, names_piece=False)
    page = signed_in(student).get(address("person_portfolio", student.pk))
    shown = {each.loaded: each.is_shown for each in page.context["pieces"]}
    assert shown == {alone: True, beside: False}


def test_portfolio_shows_pieces_with_their_photographs(
    pieces: list[LoadedPiece], student: Person, signed_in: SignIn
) -> None:
    client, where = signed_in(student), address("person_portfolio", student.pk)
    assert "No finished piece has a photograph" in client.get(where).text
    photograph = picture_of(pieces[1], by=student)
    page = client.get(where)
    assert [each.loaded for each in page.context["pieces"] if each.is_shown] == [pieces[1]]
    assert page.text.count('name="piece"') == 3, "the others can be chosen"
    assert f"/photographs/{photograph.pk}/large.jpg" in page.text
    assert "Preparation 3" not in page.text
    assert "Preparation 3" in client.get(where + "?marks=on").text
    chosen = client.get(where + f"?piece={pieces[0].pk}&piece={pieces[1].pk}")
    assert [each.is_shown for each in chosen.context["pieces"]] == [True, True, False]
