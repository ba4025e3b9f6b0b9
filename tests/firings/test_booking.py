"""A kiln is held from the start until it can be opened, by one firing at a time."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions.booking import KilnTakenError, booking_follow, kiln_bookings_follow_soon
from firings.actions.record import firing_call_off, firing_change, firing_plan, firing_start
from firings.models import Booking, Firing, FiringState
from firings.queries.booking import clash_of, held_by
from firings.services.occupancy import Span
from schedules.core_inputs import curve_of
from schedules.models import Revision
from schedules.queries.opening import opening_of
from studio.formats import plain
from studio.models import Kiln, Person, ServiceEntry
from tests.factories import (
    make_firing,
    make_kiln,
    make_learnt_response,
    make_person,
    make_revision,
    make_schedule,
)
from tests.forms_sent import as_shown

SignedIn = Callable[[Person], Client]
PLAN = "/firings/plan/"
MONDAY = datetime(2027, 3, 8, 9, 30, tzinfo=UTC)


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def revision(artist: Person) -> Revision:
    return make_revision(make_schedule(artist))


@pytest.fixture
def planned(artist: Person, kiln: Kiln, revision: Revision) -> Firing:
    return make_firing(
        artist, kiln=kiln, revision=revision, title="Tide bowl", planned_start=MONDAY
    )


def plan(kiln: Kiln, revision: Revision, by: Person, start: datetime | None) -> Firing:
    return firing_plan(
        kiln=kiln, revision=revision, fired_by=by, written_by=by, planned_start=start
    )


def sent(
    kiln: Kiln, revision: Revision, by: Person, start: datetime, **more: Any
) -> dict[str, Any]:
    return {
        "kiln": kiln.pk,
        "revision": revision.pk,
        "title": "Weir bowl",
        "planned_start": f"{start:%Y-%m-%dT%H:%M}",
        "fired_by": by.pk,
        "notes": "new paper",
    } | more


def test_plan_holds_its_kiln_until_it_can_be_opened(
    planned: Firing, kiln: Kiln, revision: Revision
) -> None:
    curve = curve_of(revision, kiln)
    opening = opening_of(curve, MONDAY)
    assert opening is not None
    booking = planned.booking
    assert booking.starts_at == MONDAY
    assert timedelta(0) <= booking.ends_at - opening.at < timedelta(minutes=1)
    # The program is over hours before; the kiln is not free then.
    assert booking.ends_at - MONDAY > timedelta(seconds=curve.duration or 0) + timedelta(hours=3)


def test_a_learnt_kiln_is_held_for_the_latest_of_its_range(
    artist: Person, kiln: Kiln, revision: Revision
) -> None:
    make_learnt_response(kiln)
    kiln = Kiln.objects.get()
    opening = opening_of(curve_of(revision, kiln), MONDAY)
    assert opening is not None
    assert opening.latest_at is not None
    booking = make_firing(artist, kiln=kiln, revision=revision, planned_start=MONDAY).booking
    assert timedelta(0) <= booking.ends_at - opening.latest_at < timedelta(minutes=1)


def test_booking_follows_revision_kiln_and_start(
    artist: Person, planned: Firing, django_capture_on_commit_callbacks: Any
) -> None:
    first = planned.booking.ends_at
    longer = make_revision(planned.revision.schedule, [("50", "804", 30), ("40", "370", 0)])
    firing_change(firing=planned, changes={"revision": longer})
    booking = Booking.objects.get()
    assert booking.ends_at > first + timedelta(hours=10)

    slow = make_kiln("Bittern", cooling_constant_h=6.0, slow_cooling_constant_h=12.0)
    firing_change(firing=planned, changes={"kiln": slow})
    moved = Booking.objects.get()
    assert (moved.kiln, moved.starts_at) == (slow, MONDAY)
    assert moved.ends_at > booking.ends_at

    firing_change(firing=planned, changes={"planned_start": MONDAY + timedelta(days=1)})
    later = Booking.objects.get()
    assert later.ends_at - moved.ends_at == timedelta(days=1)
    assert (later.uid, later.sequence) == (booking.uid, 3)


def test_what_a_kilns_recordings_teach_moves_what_is_planned_in_it(
    planned: Firing, kiln: Kiln, django_capture_on_commit_callbacks: Any
) -> None:
    before = planned.booking
    with django_capture_on_commit_callbacks(execute=True):
        make_learnt_response(kiln, cooling_constant_h=7.0, slow_cooling_constant_h=14.0)
    after = Booking.objects.get()
    assert after.ends_at > before.ends_at + timedelta(hours=3)
    assert after.changed_at > before.changed_at
    with django_capture_on_commit_callbacks(execute=True):
        kiln_bookings_follow_soon(kiln.pk)
    assert Booking.objects.get().sequence == after.sequence  # nothing new, so nothing is told


def test_second_plan_is_told_who_has_the_kiln_until_when_and_what_is_free(
    student: Person, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    with pytest.raises(KilnTakenError) as told:
        plan(kiln, revision, student, MONDAY + timedelta(hours=6))
    clash = told.value.clash
    assert (clash.other, clash.who) == (planned, "Inka")
    assert clash.taken.ends == planned.booking.ends_at == clash.free_at
    (words,) = told.value.message_dict["planned_start"]
    assert words.startswith("Heron is taken until ")
    assert "Tide bowl, by Inka. Free for this one from" in words
    assert Firing.objects.count() == Booking.objects.count() == 1
    assert plan(kiln, revision, student, clash.free_at).booking.starts_at == clash.free_at


def test_a_plan_before_another_must_be_cool_by_its_start(
    student: Person, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    length = planned.booking.ends_at - MONDAY
    with pytest.raises(KilnTakenError):
        plan(kiln, revision, student, MONDAY - length + timedelta(minutes=1))
    assert plan(kiln, revision, student, MONDAY - length).booking.ends_at == MONDAY


def test_another_kiln_and_a_plan_without_a_time_are_free(
    student: Person, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    assert plan(make_kiln("Wren"), revision, student, MONDAY).booking
    assert not hasattr(plan(kiln, revision, student, None), "booking")


def test_called_off_or_without_a_time_it_holds_nothing(
    student: Person, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    firing_call_off(firing=planned, by=planned.fired_by)
    booking = Booking.objects.get()
    assert (booking.is_cancelled, booking.starts_at) == (True, MONDAY)
    second = plan(kiln, revision, student, MONDAY)
    firing_change(firing=second, changes={"planned_start": None})
    assert second.pk == Booking.objects.get(firing=second).pk
    assert Booking.objects.get(firing=second).is_cancelled
    assert plan(kiln, revision, student, MONDAY)


def test_change_that_clashes_changes_nothing(
    student: Person, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    later = plan(kiln, revision, student, MONDAY + timedelta(days=3))
    with pytest.raises(KilnTakenError):
        firing_change(firing=later, changes={"planned_start": MONDAY + timedelta(hours=1)})
    later.refresh_from_db()
    assert later.planned_start == MONDAY + timedelta(days=3)
    assert Booking.objects.get(firing=later).starts_at == later.planned_start
    # Moving within what it holds itself is no clash.
    firing_change(firing=later, changes={"planned_start": MONDAY + timedelta(days=3, hours=1)})


def test_running_firing_holds_its_kiln_until_it_is_cool_and_opened(
    artist: Person, student: Person, kiln: Kiln, revision: Revision
) -> None:
    now = timezone.now()
    running = make_firing(
        artist, kiln=kiln, revision=revision, state="firing", started_at=now - timedelta(hours=2)
    )
    ends = running.booking.ends_at
    with pytest.raises(KilnTakenError):
        plan(kiln, revision, student, ends - timedelta(minutes=1))
    assert plan(kiln, revision, student, ends)
    # It ought to have been cool for days, and nobody opened it: taken now, not for ever.
    overdue = make_firing(
        artist,
        kiln=make_kiln("Wren"),
        revision=revision,
        state="firing",
        started_at=now - timedelta(days=4),
    )
    wanted = Span(now - timedelta(hours=1), now + timedelta(hours=1))
    found = clash_of(overdue.kiln, wanted, now)
    assert found is not None
    assert found.free_at >= now


def test_opened_firing_holds_nothing_more(
    artist: Person, student: Person, kiln: Kiln, revision: Revision
) -> None:
    opened = make_firing(artist, kiln=kiln, revision=revision, state="opened")
    assert opened.booking.ends_at == opened.opened_at
    assert plan(kiln, revision, student, opened.started_at + timedelta(hours=1))


def test_what_a_kiln_never_reaches_holds_nothing(artist: Person, revision: Revision) -> None:
    cold = make_kiln("Wren", full_power_limit_c=750.0)
    firing = make_firing(artist, kiln=cold, revision=revision, planned_start=MONDAY)
    assert held_by(firing, timezone.now()) is None
    assert booking_follow(firing=firing) is None
    running = make_firing(artist, kiln=cold, revision=revision, state="firing")
    assert running.booking.ends_at is None  # until somebody opens it


def test_plans_from_before_bookings_were_kept_count_too(
    student: Person, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    Booking.objects.all().delete()
    with pytest.raises(KilnTakenError):
        plan(kiln, revision, student, MONDAY)


def test_form_offers_the_next_free_time_and_takes_it(
    student: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    browser = signed_in(student)
    refused = browser.post(PLAN, sent(kiln, revision, student, MONDAY))
    assert "Heron is taken until" in refused.context["form"].errors["planned_start"][0]
    assert refused.context["form"]["notes"].value() == "new paper"
    free = refused.context["outlook"].clash.free_at
    assert f'name="take" value="{free.isoformat()}"' in refused.text
    taken = browser.post(PLAN, sent(kiln, revision, student, MONDAY, take=free.isoformat()))
    firing = Firing.objects.exclude(pk=planned.pk).get()
    assert taken.url == reverse("firings:firing_detail", args=[firing.pk])
    assert (firing.planned_start, firing.notes) == (free, "new paper")


def test_clash_is_told_while_one_chooses(
    student: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    asked = {"kiln": kiln.pk, "revision": revision.pk, "planned_start": "2027-03-08T12:00"}
    part = signed_in(student).get(PLAN, asked, headers={"HX-Request": "true"})
    assert "Heron is taken until" in part.text
    assert "Tide bowl" in part.text
    free = signed_in(student).get(
        PLAN, asked | {"planned_start": "2027-03-10T12:00"}, headers={"HX-Request": "true"}
    )
    assert "is taken" not in free.text


@pytest.mark.parametrize("nonsense", ["soon", "2027-13-40T99:00"])
def test_nonsense_in_the_button_leaves_what_was_keyed(
    student: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision, nonsense: str
) -> None:
    signed_in(student).post(PLAN, sent(kiln, revision, student, MONDAY, take=nonsense))
    assert Firing.objects.get().planned_start == MONDAY


def test_edit_tells_of_the_clash_and_takes_the_free_time(
    student: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision, planned: Firing
) -> None:
    later = plan(kiln, revision, student, MONDAY + timedelta(days=3))
    address = reverse("firings:firing_edit", args=[later.pk])
    browser = signed_in(student)
    shown = as_shown(browser.get(address).context["form"])
    refused = browser.post(address, shown | {"planned_start": "2027-03-08T12:00"})
    assert "Heron is taken until" in refused.context["form"].errors["planned_start"][0]
    free = refused.context["clash"].free_at
    browser.post(address, shown | {"planned_start": "2027-03-08T12:00", "take": free.isoformat()})
    later.refresh_from_db()
    assert later.planned_start == free


def test_edit_counts_the_start_back_from_the_wanted_opening(
    artist: Person, signed_in: SignedIn, planned: Firing
) -> None:
    ready = datetime(2027, 3, 12, 9, 0, tzinfo=UTC)
    address = reverse("firings:firing_edit", args=[planned.pk])
    browser = signed_in(artist)
    shown = as_shown(browser.get(address).context["form"])
    browser.post(address, shown | {"ready_by": f"{ready:%Y-%m-%dT%H:%M}"})
    planned.refresh_from_db()
    assert planned.planned_start != MONDAY
    assert timedelta(0) <= ready - Booking.objects.get().ends_at <= timedelta(minutes=1)


def test_kiln_out_of_service_is_told_with_its_diary(
    artist: Person, keeper: Person, signed_in: SignedIn, revision: Revision
) -> None:
    resting = make_kiln("Wren", in_service=False)
    ServiceEntry.objects.create(
        kiln=resting, kind="relay", done_by="an electrician", note="It stuck.", written_by=keeper
    )
    page = signed_in(artist).post(PLAN, sent(resting, revision, artist, MONDAY))
    (words,) = page.context["form"].errors["kiln"]
    assert words.startswith("Wren is out of service. Last in its diary: relay,")
    assert words.endswith("by an electrician: It stuck.")


def test_start_that_runs_into_anothers_plan_asks_first(
    artist: Person, student: Person, signed_in: SignedIn, kiln: Kiln, revision: Revision
) -> None:
    waiting = make_firing(artist, kiln=kiln, revision=revision)
    soon = timezone.now() + timedelta(hours=6)
    other = make_firing(
        student, kiln=kiln, revision=revision, title="Shoal tile", planned_start=soon
    )
    address = reverse("firings:firing_start", args=[waiting.pk])
    browser = signed_in(artist)
    assert "Shoal tile" in plain(browser.get(address).text)
    refused = browser.post(address, {"started_at": ""})
    assert "Shoal tile, by Ravi" in refused.context["form"].errors["started_at"][0]
    waiting.refresh_from_db()
    assert waiting.state == FiringState.PLANNED
    browser.post(address, {"started_at": "", "all_the_same": "on"})
    waiting.refresh_from_db()
    assert waiting.state == FiringState.FIRING
    assert Booking.objects.get(firing=other).starts_at == soon  # both are shown, and marked


def test_start_within_its_own_time_asks_nothing(
    artist: Person, kiln: Kiln, revision: Revision
) -> None:
    mine = make_firing(artist, kiln=kiln, revision=revision, planned_start=timezone.now())
    make_firing(make_person("wilf", role="artist"), kiln=kiln, revision=revision)
    assert firing_start(firing=mine).booking.starts_at is not None
