"""What the firing page tells of the anneal: from the readings, and from nothing else."""

import inspect
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from firings.models import Firing, KeyedDifference, SpotReading
from firings.queries.annealed import AnnealedFiring
from firings.services import followed
from firings.services.followed import Unfollowed
from studio.models import Person
from tests.factories import load_piece, make_firing, make_kiln, make_revision, make_schedule
from tests.firings.logger_files import recorded

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
HOUR = 3600.0


def fired(person: Person, **overrides: Any) -> Firing:
    told = {"state": "opened", "started_at": START, "opened_at": START + timedelta(hours=30)}
    return make_firing(person, **told | overrides)


def page_of(browser: Client, firing: Firing) -> tuple[str, AnnealedFiring | None]:
    response = browser.get(reverse("firings:firing_detail", args=[firing.pk]))
    assert response.status_code == 200
    text = " ".join(response.content.decode().split()).replace("\xa0", " ").replace("&nbsp;", " ")
    return text, response.context["page"].annealed


@pytest.fixture
def browser(artist: Person, signed_in: Any) -> Client:
    return signed_in(artist)


def test_page_tells_soak_stress_and_stages(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    load_piece(firing)
    recorded(firing, by=artist)

    text, annealed = page_of(browser, firing)

    assert re.search(r"The anneal soak was <strong>(59 min|1 h 0[01])</strong>", text)
    assert "1 h 00 was planned" in text
    assert "For Tide blank, annealed as 6 mm" in text
    assert "Of this load" not in text
    assert f"Stress left: about {annealed.course.left_mpa:.1f} MPa</strong>, little" in text
    assert "so at least" in text
    assert '<path class="recorded middle"' in text
    assert text.count("A calculation, not a guarantee.") == 1  # one for the whole page


def test_recorded_figures_are_those_of_the_plan_where_the_kiln_did_as_planned(
    artist: Person, browser: Client
) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)
    _, annealed = page_of(browser, firing)
    schedule = firing.revision.schedule
    response = browser.get(reverse("schedules:schedule_detail", args=[schedule.pk]))
    planned, found = response.context["shown"].course.course, annealed.course.course

    assert found.left == pytest.approx(planned.left, rel=0.03)
    assert found.settling.size == pytest.approx(planned.settling.size, abs=0.15)
    assert found.heating.size == pytest.approx(planned.heating.size, abs=0.15)


def test_soak_that_was_cut_short_is_told(artist: Person, browser: Client) -> None:
    short = make_revision(
        make_schedule(artist),
        [("150", "540", 0), ("330", "804", 10), (None, "482", 25), ("80", "370", 0)],
    )
    firing = fired(artist, revision=short)
    recorded(firing, by=artist)
    # It was planned for an hour, but somebody went on early.
    short.segments.filter(position=3).update(hold_minutes=60)

    text, annealed = page_of(browser, firing)

    assert annealed.is_soak_cut
    assert annealed.is_soak_short
    assert re.search(r"was <strong>2\d min</strong> of the 1 h 00 planned", text)
    assert "A piece annealed as 6 mm usually gets 57 min." in text


def test_the_piece_that_asks_for_most_counts(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    load_piece(firing)
    load_piece(firing, title="Thick tile", thickest_mm=14.0, thinnest_mm=14.0)
    load_piece(firing, title="Nobody measured it", thickest_mm=None, thinnest_mm=None)
    recorded(firing, by=artist)

    text, _ = page_of(browser, firing)

    assert "For Thick tile, annealed as 14 mm" in text
    assert "Of this load it asks for the gentlest anneal." in text
    assert "▲" in text  # 80 °C/h is no stage for that


def test_without_a_thickness_the_schedules_counts(artist: Person, browser: Client) -> None:
    firing = fired(artist, revision=make_revision(make_schedule(artist, thickest_mm=9.0)))
    recorded(firing, by=artist)

    text, annealed = page_of(browser, firing)

    assert annealed.piece is None
    assert "For a piece annealed as 9 mm" in text


def test_what_was_keyed_is_what_was_planned(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    KeyedDifference.objects.create(firing=firing, position=4, part="hold", value=90)
    recorded(firing, by=artist)

    text, annealed = page_of(browser, firing)

    assert annealed.soak_planned_s == 90 * 60
    assert "1 h 30 was planned" in text


def test_peak_and_duration_alone_claim_nothing(artist: Person, browser: Client) -> None:
    firing = fired(artist, recorded_peak_c=803.0, recorded_duration_s=9 * 3600)

    text, annealed = page_of(browser, firing)

    assert annealed is None
    assert "The anneal, as recorded" not in text


def test_readings_by_hand_claim_nothing(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    for minutes in range(0, 12 * 60, 10):
        SpotReading.objects.create(
            firing=firing,
            at=START + timedelta(minutes=minutes),
            temperature_c=20.0 + minutes,
            noted_by=artist,
        )

    text, annealed = page_of(browser, firing)

    assert annealed.course is None
    assert "Readings noted by hand stand too far apart to tell how the glass was soaked" in text
    assert "Stress left" not in text
    assert "not found in the readings" not in text


def test_recording_that_ends_hot_tells_no_stress_left(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, until_s=8.2 * HOUR)

    text, annealed = page_of(browser, firing)

    assert annealed.unfollowed.code == "ends_hot"
    assert "before stress is settled: how much is left can’t be told." in text
    assert "Stress left: about" not in text
    assert "Heating, while the glass is stiff" in text
    assert "Cooling, while stress settles" not in text


def test_recording_that_begins_late_tells_nothing_of_the_heating(
    artist: Person, browser: Client
) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, since_s=2 * HOUR)

    text, annealed = page_of(browser, firing)

    assert annealed.unfollowed is None
    assert "Stress left: about" in text
    assert "Heating, while the glass is stiff" not in text
    assert "Of the heating nothing is told: the readings of it aren’t whole." in text


def test_gap_while_stress_settles_is_told_and_not_bridged(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist, without_s=(8.1 * HOUR, 8.9 * HOUR))

    text, annealed = page_of(browser, firing)

    assert annealed.unfollowed.code == "silent"
    assert "Nothing was read from Wed 02:06 to 02:54, while stress was settling" in text
    assert "Stress left: about" not in text


def test_metal_clay_has_no_anneal(artist: Person, browser: Client) -> None:
    clay = make_schedule(artist, process="metal_clay", family=None)
    firing = fired(artist, revision=make_revision(clay, [("400", "850", 120)]))
    recorded(firing, by=artist)

    assert page_of(browser, firing)[1] is None


def test_beads_take_heat_all_round(artist: Person, browser: Client) -> None:
    beads = make_schedule(artist, process="bead_anneal", thickest_mm=14.0)
    firing = fired(artist, revision=make_revision(beads, [("300", "510", 60), ("66", "400", 0)]))
    recorded(firing, by=artist)

    text, annealed = page_of(browser, firing)

    assert annealed.case.faces == 2
    assert "heated and cooled all round" in text
    assert "Heating, while" not in text
    assert "Of the heating nothing" not in text
    assert re.search(r"The anneal soak was <strong>(59 min|1 h 0[01])</strong>", text)


def test_a_firing_under_way_is_not_told_of(artist: Person, browser: Client) -> None:
    firing = fired(artist, state="firing", opened_at=None)
    recorded(firing, by=artist, until_s=4 * HOUR)

    assert page_of(browser, firing)[1] is None


def test_display_and_glass_are_kept_apart(artist: Person, browser: Client) -> None:
    firing = fired(artist, kiln=make_kiln(offset_c=-10.0))
    recorded(firing, by=artist)

    text, annealed = page_of(browser, firing)

    assert annealed.course.stages[0].stage.start == pytest.approx(472.0)
    assert '<th scope="row">482 °C to 427 °C</th>' in text


def test_moments_are_told_by_the_clock(artist: Person, browser: Client) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)

    _, annealed = page_of(browser, firing)

    row = annealed.course.rows[1]
    assert row.code == "settling"
    assert row.at == START + timedelta(seconds=row.moment_s)


def test_the_anneal_asks_the_database_nothing(
    artist: Person,
    browser: Client,
    django_assert_num_queries: Any,
    django_assert_max_num_queries: Any,
) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)
    load_piece(firing, thickest_mm=12.0)  # something is remarked, and asked whether it is silenced
    url = reverse("firings:firing_detail", args=[firing.pk])
    browser.get(url)  # what is asked for once a visit
    with django_assert_max_num_queries(34) as one:
        browser.get(url)
    load_piece(firing, title="Another", thickest_mm=9.0)
    load_piece(firing, title="And another", thickest_mm=12.0)

    with django_assert_num_queries(len(one.captured_queries)):
        browser.get(url)


CODES = sorted(set(re.findall(r'Unfollowed\(\s*"(\w+)"', inspect.getsource(followed))))


def test_the_reasons_of_the_core_were_found() -> None:
    assert len(CODES) == 5


@pytest.mark.parametrize("code", CODES)
def test_each_reason_has_words(code: str) -> None:
    words = render_to_string(
        "firings/_annealed_unknown.html",
        {"annealed": {"by_hand": False}, "why": Unfollowed(code, 7200.0, 9000.0)},
    )
    assert "can’t be told" in words or "too far to tell" in words
