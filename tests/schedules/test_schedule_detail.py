from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from schedules.models import Schedule
from studio.models import Person, Studio
from tests.factories import make_kiln, make_revision, make_schedule

SignIn = Callable[[Person], Client]


@pytest.fixture
def schedule(artist: Person) -> Schedule:
    schedule = make_schedule(artist)
    make_revision(schedule, reason="From an old card", written_for=make_kiln("Wren"))
    return schedule


def url(schedule: Schedule) -> str:
    return reverse("schedules:schedule_detail", args=[schedule.pk])


def test_page_shows_segments_as_written_and_times(
    schedule: Schedule, student: Person, signed_in: SignIn
) -> None:
    make_revision(schedule, [("6.70", "804.50", 90)], reason="Slower", written_for=make_kiln())
    response = signed_in(student).get(url(schedule))
    text = response.content.decode()
    assert "<td>6.7</td><td>804.5</td><td>1 h 30</td>" in text
    assert "From an old card" in text
    assert "A calculation, not a guarantee" in text
    shown = response.context["shown"]
    assert shown.planned.kiln.name == "Heron"
    assert shown.planned.opening.after_s > shown.planned.total_s


@time_machine.travel("2026-03-12 17:00 +0000", tick=False)
def test_opening_is_told_as_a_clock_time_in_the_studios_zone(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "America/Halifax"})
    response = signed_in(artist).get(url(schedule))
    planned = response.context["shown"].planned
    # 17:00 in UTC is 14:00 in Halifax, which is on summer time since 8 March.
    opens = datetime(2026, 3, 12, 14, 0) + timedelta(seconds=planned.opening.after_s)
    assert f"If started now</dt><dd>{opens:%a} {opens.day} {opens:%b, %H:%M}" in (
        response.content.decode()
    )


def test_other_unit_is_one_click_away(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    make_revision(schedule, [("300", "1480", 10)], unit="F")
    browser = signed_in(artist)
    as_written = browser.get(url(schedule))
    assert as_written.context["shown"].unit == "F"
    assert 'href="?unit=C' in as_written.content.decode()

    converted = browser.get(url(schedule), {"unit": "C"})
    [line] = converted.context["shown"].lines
    # 300 °F/h is a difference, 1480 °F a temperature.
    assert (line.rate, line.target) == (
        pytest.approx(166.667, abs=1e-3),
        pytest.approx(804.444, abs=1e-3),
    )
    assert "<td>166.7</td><td>804.4</td>" in converted.content.decode()


def test_curve_is_drawn_in_the_kiln_that_is_asked_for(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    other = make_kiln("Heron")
    browser = signed_in(artist)
    assert browser.get(url(schedule)).context["shown"].planned.kiln.name == "Wren"
    asked = browser.get(url(schedule), {"kiln": str(other.pk)})
    assert asked.context["shown"].planned.kiln == other
    assert browser.get(url(schedule), {"kiln": "nonsense"}).status_code == 200


def test_what_the_kiln_cannot_do_is_remarked(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    small = make_kiln("Pocket", max_temperature_c=700, controller_segments=2)
    text = signed_in(artist).get(url(schedule), {"kiln": str(small.pk)}).content.decode()
    assert "The controller takes 2 segments, and these are 5." in text
    assert "highest temperature is 700 °C" in text


def test_page_without_a_kiln_says_so(artist: Person, signed_in: SignIn) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    assert "none is in service" in signed_in(artist).get(url(schedule)).content.decode()


def test_target_out_of_reach_draws_what_there_is(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    weak = make_kiln("Ember", full_power_limit_c=780.0, rise_at_700_c_per_h=60.0)
    response = signed_in(artist).get(url(schedule), {"kiln": str(weak.pk)})
    planned = response.context["shown"].planned
    assert planned.total_s is None
    assert planned.opening is None
    assert planned.drawings[0].planned
    assert "can’t reach this" in response.content.decode()


def test_buttons_follow_rights(
    schedule: Schedule, artist: Person, student: Person, instructor: Person, signed_in: SignIn
) -> None:
    change = reverse("schedules:revision_copy", args=[schedule.pk, 1])
    for person, may in ((artist, True), (instructor, True), (student, False)):
        assert (change in signed_in(person).get(url(schedule)).content.decode()) is may


def test_foreign_schedule_is_a_plain_page(artist: Person, signed_in: SignIn) -> None:
    browser = signed_in(artist)
    assert browser.get(reverse("schedules:schedule_detail", args=[999])).status_code == 404
    assert browser.get(reverse("schedules:revision_detail", args=[999, 1])).status_code == 404


def test_outsider_is_led_to_sign_in(schedule: Schedule, outsider: Client) -> None:
    assert outsider.get(url(schedule)).status_code == 302


def test_page_is_only_read(schedule: Schedule, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).post(url(schedule)).status_code == 405


def test_older_revision_leads_to_the_newest(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    make_revision(schedule, reason="Longer")
    response = signed_in(artist).get(reverse("schedules:revision_detail", args=[schedule.pk, 1]))
    assert "Revision 2 is the newest" in response.content.decode()
    assert response.context["shown"].lines[0].target == Decimal(540)


def test_curve_data_is_in_the_readers_unit(
    schedule: Schedule, artist: Person, signed_in: SignIn
) -> None:
    artist.unit = "F"
    artist.save()
    address = reverse("schedules:revision_curve_data", args=[schedule.pk, 1])
    browser = signed_in(artist)
    [trace] = browser.get(address).json()["data"]
    assert max(trace["y"]) == pytest.approx(1479.2, abs=0.05)  # 804 °C
    [trace] = browser.get(address, {"unit": "C"}).json()["data"]
    assert max(trace["y"]) == 804.0


def test_curve_data_without_a_kiln_is_not_there(artist: Person, signed_in: SignIn) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    address = reverse("schedules:revision_curve_data", args=[schedule.pk, 1])
    assert signed_in(artist).get(address).status_code == 404


def test_what_is_not_needed_to_fire_is_folded(artist: Person, signed_in: SignIn) -> None:
    make_kiln()
    schedule = make_schedule(artist)
    for number in range(1, 5):
        make_revision(schedule, number=number)
    text = signed_in(artist).get(f"/schedules/{schedule.pk}/").content.decode()
    assert "<details><summary>4 revisions, the newest first</summary>" in text
    assert text.index('id="segments-title"') < text.index("4 revisions, the newest first")
