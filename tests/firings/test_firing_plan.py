from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.models import Firing, FiringState
from schedules.core_inputs import curve_of
from schedules.models import Revision
from schedules.queries.opening import opening_of
from studio.formats import plain
from studio.models import Kiln, Person
from tests.factories import FULL_FUSE, make_kiln, make_revision, make_schedule

SignedIn = Callable[[Person], Client]
PLAN = "/firings/plan/"


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def revision(artist: Person) -> Revision:
    return make_revision(make_schedule(artist))


def plan_of(kiln: Kiln, revision: Revision, person: Person, **overrides: Any) -> dict[str, Any]:
    return {
        "kiln": kiln.pk,
        "revision": revision.pk,
        "title": "Tide bowl",
        "planned_start": "2026-03-08T18:30",
        "fired_by": person.pk,
        "notes": "new paper",
    } | overrides


def test_firing_is_planned(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    answer = signed_in(artist).post(PLAN, plan_of(kiln, revision, artist))
    firing = Firing.objects.get()
    assert answer.url == reverse("firings:firing_detail", args=[firing.pk])
    assert (firing.state, firing.kiln, firing.revision) == (FiringState.PLANNED, kiln, revision)
    assert (firing.title, firing.notes, firing.written_by) == ("Tide bowl", "new paper", artist)


def test_page_comes_filled_from_its_address(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    page = signed_in(artist).get(PLAN, {"revision": revision.pk, "kiln": kiln.pk})
    assert page.context["form"]["revision"].value() == str(revision.pk)
    assert b"Runs for" in page.content


def test_fragment_says_how_it_would_go(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    asked = {"revision": revision.pk, "kiln": kiln.pk, "planned_start": "2026-03-08T18:00"}
    answer = signed_in(artist).get(PLAN, asked, headers={"HX-Request": "true"})
    assert b"<html" not in answer.content
    assert b'id="outlook"' in answer.content
    assert answer.context["outlook"].duration_s > 5 * 3600
    assert "HX-Request" in answer["Vary"]


def test_without_script_a_button_says_how_it_would_go_and_keeps_what_was_typed(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    page = signed_in(artist).post(PLAN, plan_of(kiln, revision, artist, look="yes"))
    assert not Firing.objects.exists()
    assert b"Runs for" in page.content
    assert page.context["form"]["title"].value() == "Tide bowl"


@pytest.mark.parametrize(
    ("what", "kiln_facts", "says"),
    [
        ("too hot", {"max_temperature_c": 780.0}, "780 °C"),
        ("too many segments", {"controller_segments": 4}, "4"),
        ("out of reach", {"full_power_limit_c": 790.0}, "789 °C"),
    ],
)
def test_what_the_kiln_cannot_do_is_said_at_the_schedule(
    artist: Person,
    signed_in: SignedIn,
    revision: Revision,
    what: str,
    kiln_facts: dict[str, Any],
    says: str,
) -> None:
    kiln = make_kiln("Wren", **kiln_facts)
    page = signed_in(artist).post(PLAN, plan_of(kiln, revision, artist))
    assert not Firing.objects.exists()
    assert says in plain(" ".join(page.context["form"].errors["revision"]))
    assert page.context["form"]["notes"].value() == "new paper"


def test_remark_is_in_the_unit_of_its_reader(
    artist: Person, signed_in: SignedIn, revision: Revision
) -> None:
    artist.unit = "F"
    artist.save()
    kiln = make_kiln("Wren", max_temperature_c=780.0)
    page = signed_in(artist).post(PLAN, plan_of(kiln, revision, artist))
    assert "1436 °F" in plain(" ".join(page.context["form"].errors["revision"]))  # 780 × 1.8 + 32


def test_kiln_out_of_service_takes_none(
    artist: Person, signed_in: SignedIn, revision: Revision
) -> None:
    resting = make_kiln("Wren", in_service=False)
    page = signed_in(artist).post(PLAN, plan_of(resting, revision, artist))
    assert not Firing.objects.exists()
    assert page.context["form"].errors["kiln"]


@pytest.mark.parametrize("wrong", ["soon", "2026-13-40T99:00", "18:30"])
def test_time_that_is_none_is_said_at_its_field(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision, wrong: str
) -> None:
    page = signed_in(artist).post(PLAN, plan_of(kiln, revision, artist, planned_start=wrong))
    assert page.context["form"].errors["planned_start"]
    assert page.context["form"]["planned_start"].value() == wrong


def test_only_newest_revisions_are_offered_and_the_one_asked_for(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    newer = make_revision(revision.schedule)
    browser = signed_in(artist)
    offered = browser.get(PLAN).context["form"].fields["revision"].queryset
    assert list(offered) == [newer]
    asked = browser.get(PLAN, {"revision": revision.pk}).context["form"]
    assert list(asked.fields["revision"].queryset) == [newer, revision]


def test_same_form_sent_twice_makes_one_firing(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    browser, plan = signed_in(artist), plan_of(kiln, revision, artist, form_key=str(uuid4()))
    first, second = browser.post(PLAN, plan), browser.post(PLAN, plan)
    assert first.url == second.url
    assert Firing.objects.count() == 1


def test_student_plans_for_nobody_else_and_an_instructor_may(
    student: Person,
    instructor: Person,
    artist: Person,
    signed_in: SignedIn,
    kiln: Kiln,
    revision: Revision,
) -> None:
    page = signed_in(student).post(PLAN, plan_of(kiln, revision, artist))
    assert page.context["form"].errors["fired_by"]
    signed_in(instructor).post(PLAN, plan_of(kiln, revision, artist))
    firing = Firing.objects.get()
    assert (firing.fired_by, firing.written_by) == (artist, instructor)


def test_offers_cost_the_same_queries_however_many_there_are(
    artist: Person,
    signed_in: SignedIn,
    kiln: Kiln,
    revision: Revision,
    django_assert_num_queries: Any,
) -> None:
    browser = signed_in(artist)
    browser.get(PLAN)  # makes the studio's row
    with CaptureQueriesContext(connection) as few:
        browser.get(PLAN)
    for number in range(5):
        make_revision(make_schedule(artist, name=f"Slump {number}", process="slump"), FULL_FUSE)
        make_kiln(f"Kiln {number}")
    with django_assert_num_queries(len(few)):
        browser.get(PLAN)


def test_nonsense_in_the_address_is_a_plain_page(artist: Person, signed_in: SignedIn) -> None:
    assert signed_in(artist).get(PLAN, {"revision": "x"}).status_code == 404


def test_outsider_is_led_to_sign_in(outsider: Client, db: None) -> None:
    assert outsider.get(PLAN).url.startswith(reverse("studio:sign_in"))


def test_wrong_method_is_refused(artist: Person, signed_in: SignedIn) -> None:
    assert signed_in(artist).put(PLAN).status_code == 405


def test_plan_in_an_empty_studio_says_what_comes_first(artist: Person, signed_in: SignedIn) -> None:
    browser = signed_in(artist)
    assert "No kiln is in service." in browser.get(PLAN).text
    make_kiln()
    assert "There is no schedule yet." in browser.get(PLAN).text
    make_revision(make_schedule(artist))
    assert "Choose a schedule and a kiln" in browser.get(PLAN).text


def test_start_is_counted_back_from_the_wanted_opening(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    ready = timezone.now() + timedelta(days=4)
    sent = plan_of(kiln, revision, artist, planned_start="", ready_by=f"{ready:%Y-%m-%dT%H:%M}")
    client = signed_in(artist)
    look = client.post(PLAN, sent | {"look": "yes"})
    client.post(PLAN, sent)

    planned = Firing.objects.get().planned_start
    opening = opening_of(curve_of(revision, kiln), planned)
    assert opening is not None
    assert (
        timedelta(0) <= ready.replace(second=0, microsecond=0) - opening.at < timedelta(minutes=1)
    )
    assert f"start by {planned:%A}" in plain(look.text)


def test_an_opening_that_comes_too_soon_is_told_at_its_field(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    soon = timezone.now() + timedelta(hours=2)
    sent = plan_of(kiln, revision, artist, planned_start="", ready_by=f"{soon:%Y-%m-%dT%H:%M}")
    answer = signed_in(artist).post(PLAN, sent)

    assert "which is past" in answer.context["form"].errors["ready_by"][0]
    assert not Firing.objects.exists()


def test_a_start_too_late_for_the_wanted_opening_is_told(
    artist: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    asked = plan_of(kiln, revision, artist, ready_by="2026-03-08T20:00")
    answer = signed_in(artist).get(PLAN, asked)
    assert answer.context["outlook"].is_late
    assert "The start that is planned is later" in answer.text
