from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.models import Fault, Firing, Review, ReviewMark, SpotReading
from studio.models import ClassMember, Kiln, KilnFurniture, Person, RubricCriterion
from studio.trails import trail_kinds
from tests.factories import (
    load_piece,
    make_class,
    make_firing,
    make_glass,
    make_kiln,
    make_person,
    make_prices,
    make_schedule,
)

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def trail(kind: str, thing: object) -> str:
    return reverse("studio:trail_detail", args=[kind, thing.pk])  # type: ignore[attr-defined]


def kiln_form(browser: Client, kiln: Kiln, **changes: object) -> dict[str, object]:
    page = browser.get(reverse("studio:kiln_change", args=[kiln.pk]))
    form = page.context["form"]
    sent = {
        bound.html_name: bound.value() for bound in form if bound.value() not in (None, False, "")
    }
    return sent | changes


def test_it_says_who_changed_what_from_what_to_what(
    keeper: Person, artist: Person, signed_in: Browser
) -> None:
    kiln = make_kiln(offset_c=2.0)
    browser = signed_in(keeper)
    sent = kiln_form(browser, kiln, offset_c="5", place="by the door")

    assert browser.post(reverse("studio:kiln_change", args=[kiln.pk]), sent).status_code == 302

    page = signed_in(artist).get(trail("kiln", kiln)).text
    assert f"by {keeper.name}" in page
    assert "Offset, glass minus display: +2 °C → +5 °C" in page
    assert 'Place: <span class="soft">nothing</span> → by the door' in page


def test_figures_are_in_the_readers_unit(keeper: Person, signed_in: Browser) -> None:
    kiln = make_kiln(offset_c=2.0, max_temperature_c=900.0)
    kiln.offset_c, kiln.max_temperature_c = 5.0, 950.0
    kiln.save()

    page = signed_in(make_person("abe", unit="F")).get(trail("kiln", kiln)).text

    assert "+3.6 °F → +9 °F" in page
    assert "1652 °F → 1742 °F" in page


def test_the_fold_gets_lines_alone(artist: Person, signed_in: Browser) -> None:
    kiln = make_kiln()
    kiln.place = "by the door"
    kiln.save()

    page = signed_in(artist).get(trail("kiln", kiln), headers={"HX-Request": "true"})

    assert "by the door" in page.text
    assert "<html" not in page.text
    assert "HX-Request" in page.headers["Vary"]


def test_twenty_lines_in_the_fold_and_the_rest_on_its_page(
    artist: Person, signed_in: Browser
) -> None:
    kiln = make_kiln()
    for number in range(60):
        kiln.place = f"corner {number}"
        kiln.save()
    browser = signed_in(artist)

    fold = browser.get(trail("kiln", kiln), headers={"HX-Request": "true"})
    first = browser.get(trail("kiln", kiln))
    second = browser.get(trail("kiln", kiln), {"page": "2"})

    assert len(fold.context["lines"]) == 20
    assert "The whole trail" in fold.text
    assert len(first.context["lines"]) == 50
    assert len(second.context["lines"]) == 11
    assert "Written down" in second.text


@pytest.mark.parametrize("kind", sorted(trail_kinds()))
def test_each_page_with_a_trail_has_its_fold(kind: str, keeper: Person, signed_in: Browser) -> None:
    things = {
        "kiln": make_kiln,
        "person": lambda: keeper,
        "class": lambda: make_class(keeper),
        "studio": lambda: type("One", (), {"pk": 1}),
        "schedule": lambda: make_schedule(keeper),
        "firing": lambda: make_firing(keeper),
        "prices": make_prices,
        "furniture": lambda: KilnFurniture.objects.create(name="Shallow bowl"),
        "piece": lambda: load_piece(make_firing(keeper)).piece,
    }
    thing, kept = things[kind](), trail_kinds()[kind]

    page = signed_in(keeper).get(reverse(kept.page, args=[thing.pk] if kept.numbered else []))

    assert f'hx-get="{trail(kind, thing)}"' in page.text
    assert f'href="{trail(kind, thing)}"' in page.text
    assert signed_in(keeper).get(trail(kind, thing)).status_code == 200


def test_wrong_words_lead_nowhere(keeper: Person, signed_in: Browser) -> None:
    browser = signed_in(keeper)

    assert browser.get("/trail/password/1/").status_code == 404
    assert browser.get(reverse("studio:trail_detail", args=["kiln", 77])).status_code == 404
    assert browser.post(reverse("studio:trail_detail", args=["kiln", 77])).status_code == 405


def test_a_trail_is_read_by_whoever_reads_the_page(
    keeper: Person, instructor: Person, artist: Person, signed_in: Browser
) -> None:
    group = make_class(instructor)

    assert signed_in(artist).get(trail("class", group)).status_code == 403
    assert signed_in(instructor).get(trail("class", group)).status_code == 200
    assert signed_in(instructor).get("/trail/studio/1/").status_code == 403


def test_outsider_is_led_to_sign_in(outsider: Client, artist: Person) -> None:
    assert outsider.get(trail("kiln", make_kiln())).status_code == 302


def judged(student: Person, instructor: Person) -> Firing:
    firing = make_firing(student, state="opened")
    loaded = load_piece(firing, title="Tide blank", glass=make_glass())
    loaded.verdict, loaded.judged_by = 1, student
    loaded.save()
    Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=student)
    review = Review.objects.create(
        loaded_piece=loaded, verdict=-1, comment="Look again.", reviewed_by=instructor
    )
    criterion = RubricCriterion.objects.create(name="Preparation")
    ReviewMark.objects.create(review=review, criterion=criterion, mark=3)
    return firing


def test_a_review_is_seen_by_those_who_may_see_it(
    student: Person, instructor: Person, artist: Person, signed_in: Browser
) -> None:
    firing = judged(student, instructor)
    make_class(instructor, students=[student])

    own = signed_in(student).get(trail("firing", firing)).text
    other = signed_in(artist).get(trail("firing", firing)).text

    assert "Verdict: " in own
    assert "a touch far" in own
    assert "Look again." in own
    assert "Mark Preparation, Tide blank added" in own
    assert "a touch far" in other
    assert "Look again." not in other
    assert "Preparation" not in other


def test_a_kept_firing_keeps_its_load_from_the_trail(
    student: Person, instructor: Person, artist: Person, signed_in: Browser
) -> None:
    firing = judged(student, instructor)
    firing.notes = "for her birthday"
    firing.is_private = True
    firing.save()
    make_class(instructor, students=[student])

    own = signed_in(student).get(trail("firing", firing)).text
    other = signed_in(artist).get(trail("firing", firing)).text

    for hidden in ("Tide blank", "stuck", "for her birthday"):
        assert hidden in own
        assert hidden not in other


def test_what_was_removed_is_told(student: Person, signed_in: Browser) -> None:
    firing = make_firing(student, state="opened")
    browser = signed_in(student)
    loaded = load_piece(firing, title="Cracked tile")
    reading = SpotReading.objects.create(
        firing=firing, at=firing.started_at, temperature_c=620.0, noted_by=student
    )

    browser.post(reverse("firings:piece_remove", args=[loaded.pk]))
    browser.post(reverse("firings:spot_reading_remove", args=[reading.pk]))

    page = browser.get(trail("firing", firing)).text
    assert "Piece Cracked tile removed" in page
    assert "Temperature: 620 °C" in page
    assert f"by {student.name}" in page


def test_nobody_stands_behind_what_the_site_does(artist: Person, signed_in: Browser) -> None:
    kiln = make_kiln()

    assert "by the site" in signed_in(artist).get(trail("kiln", kiln)).text


def test_who_joins_and_who_teaches_is_told(
    keeper: Person, instructor: Person, student: Person, signed_in: Browser
) -> None:
    group = make_class(keeper)
    group.instructors.add(instructor)
    ClassMember.objects.create(teaching_class=group, person=student)

    page = signed_in(instructor).get(trail("class", group)).text

    assert f"Instructors: {keeper.name} → " in page
    assert instructor.name in page
    assert f"Student {student.name} added" in page


def test_a_changed_role_is_told(keeper: Person, artist: Person, signed_in: Browser) -> None:
    signed_in(keeper).post(
        reverse("studio:person_set_role", args=[artist.pk]), {"role": "instructor"}
    )

    page = signed_in(artist).get(trail("person", artist)).text

    assert "Role: artist → instructor" in page
    assert f"by {keeper.name}" in page


def test_more_lines_ask_no_more(student: Person, instructor: Person, signed_in: Browser) -> None:
    firing = judged(student, instructor)
    browser = signed_in(student)
    browser.get(trail("firing", firing))

    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            browser.get(trail("firing", firing))
        return len(queries)

    few = asked()
    for number in range(5):
        loaded = load_piece(firing, title=f"Tile {number}", glass=make_glass(code=f"{number}"))
        loaded.glass = make_glass(code=f"other {number}")
        loaded.save()
        Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=student)
    assert asked() == few
    assert few <= 45
