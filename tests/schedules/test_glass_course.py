"""What the schedule page tells of the glass: difference, stress, and the stages of cooling."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Schedule
from schedules.queries.glass_course import GlassCoursePage
from studio.models import Person
from tests.factories import FULL_FUSE, make_family, make_kiln, make_revision, make_schedule

SignIn = Callable[[Person], Client]
FAST = [*FULL_FUSE[:4], ("250", "370", 0)]


def written(person: Person, segments: Any = None, unit: str = "C", **overrides: Any) -> Schedule:
    schedule = make_schedule(person, **overrides)
    make_revision(schedule, segments, unit=unit)
    return schedule


def page_of(browser: Client, schedule: Schedule, **query: str) -> tuple[str, GlassCoursePage]:
    response = browser.get(reverse("schedules:schedule_detail", args=[schedule.pk]), query)
    text = " ".join(response.content.decode().split()).replace("\xa0", " ").replace("&nbsp;", " ")
    return text, response.context["shown"].course


@pytest.fixture
def browser(student: Person, signed_in: SignIn) -> Client:
    make_kiln()
    return signed_in(student)


def test_page_tells_difference_stress_and_stages(artist: Person, browser: Client) -> None:
    text, course = page_of(browser, written(artist))

    assert "annealed as 6 mm, heated and cooled from one face" in text
    assert "Heating, while the glass is stiff" in text
    assert f"Stress left: about {course.left_mpa:.1f} MPa</strong>, little" in text
    assert "a piece should never see more than 15 MPa" in text
    assert '<th scope="row">482 °C to 427 °C</th>' in text
    assert text.count("A calculation, not a guarantee.") == 1  # one for the whole page


def test_strips_are_drawn_for_a_desk_and_for_a_phone(artist: Person, browser: Client) -> None:
    text, course = page_of(browser, written(artist))

    assert "while stress settles" in course.says
    assert text.count("design strength 15 MPa") == 2
    assert course.says.replace("\xa0", " ") in text


def test_stage_passed_too_fast_is_marked(artist: Person, browser: Client) -> None:
    gentle, _ = page_of(browser, written(artist))
    fast, course = page_of(browser, written(artist, FAST, name="Full fuse, in a hurry"))

    assert "▲" not in gentle
    # Left alone from 482 °C on, this kiln falls at 132 °C/h; 83 is what practice gives 6 mm.
    assert course.stages[0].stage.rate == pytest.approx(83.0)
    assert course.stages[0].is_faster
    assert f"<strong>▲ {course.stages[0].fastest:.0f} °C/h</strong>" in fast
    assert "▲ a quarter faster than the stage asks, or more." in fast


def test_much_stress_is_said(artist: Person, browser: Client) -> None:
    thick = written(artist, FAST, thinnest_mm=19.0, thickest_mm=19.0)
    text, course = page_of(browser, thick)

    assert not course.course.is_little_left
    assert "MPa that a careful anneal leaves at the most" in text
    assert 'class="remark warn"><strong>Stress left' in text


def test_figures_are_in_the_unit_that_is_read(artist: Person, browser: Client) -> None:
    schedule = written(artist)
    text, _ = page_of(browser, schedule, unit="F")

    assert '<th scope="row">900 °F to 801 °F</th>' in text
    assert "Middle less surface, °F" in text
    assert "149 °F/h" in text  # 83 °C/h


def test_stages_are_told_as_the_kilns_display_shows_them(artist: Person, signed_in: SignIn) -> None:
    make_kiln("Wren", offset_c=-10.0)
    text, course = page_of(signed_in(artist), written(artist))

    # 472 °C in the glass, 10 °C less than the display.
    assert course.stages[0].stage.start == pytest.approx(472.0)
    assert '<th scope="row">482 °C to 427 °C</th>' in text
    assert "to 60 °C</th>" in text
    assert "not passed" not in text


def test_beads_take_heat_all_round_and_go_in_hot(artist: Person, browser: Client) -> None:
    beads = written(
        artist, [("300", "510", 60), ("66", "400", 0)], process="bead_anneal", thickest_mm=14.0
    )
    text, course = page_of(browser, beads)

    assert "heated and cooled all round" in text
    assert course.case.faces == 2
    assert course.course.heating is None
    assert "Drawn from the top on" in text


def test_anneal_only_is_heated_as_one_piece(artist: Person, browser: Client) -> None:
    again = written(artist, [("100", "510", 60), ("66", "400", 0)], process="anneal_only")
    text, course = page_of(browser, again)

    assert course.course.heating is not None
    assert course.stages[0].stage.start == pytest.approx(510.0)
    assert "Drawn from the top on" not in text


def test_metal_clay_has_no_glass_to_tell_of(artist: Person, browser: Client) -> None:
    clay = written(artist, [("400", "900", 120)], process="metal_clay", family=None)
    text, course = page_of(browser, clay)

    assert course is None
    assert "Temperature difference and stress" not in text


def test_curve_that_is_not_reached_tells_nothing(artist: Person, browser: Client) -> None:
    text, course = page_of(browser, written(artist, [("300", "1600", 10)]))

    assert course is None
    assert "The cooling, stage by stage" not in text


def test_without_a_kiln_nothing_is_told(artist: Person, signed_in: SignIn) -> None:
    text, course = page_of(signed_in(artist), written(artist))

    assert course is None
    assert "The cooling, stage by stage" not in text


def test_schedule_without_a_soak_is_held_against_the_usual_one(
    artist: Person, browser: Client
) -> None:
    family = make_family("other 90", anneal_soak_c=516.0)
    straight = written(artist, [("150", "540", 0), ("330", "804", 10)], family=family)
    _, course = page_of(browser, straight)

    assert course.stages[0].stage.start == pytest.approx(516.0)
    assert course.stages[0].is_faster


def test_stress_is_worked_out_once_a_page(artist: Person, browser: Client) -> None:
    schedule = written(artist)
    response = browser.get(reverse("schedules:schedule_detail", args=[schedule.pk]))
    shown = response.context["shown"]

    assert shown.course.case is shown.planned.case  # whose remarks the page shows, too
