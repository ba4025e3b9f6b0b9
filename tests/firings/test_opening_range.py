"""When it is cool enough to open, and how sure that is: on every page that says it."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from firings.models import Firing
from schedules.models import Revision
from studio.formats import duration, plain
from studio.models import Kiln, Person
from tests.factories import (
    make_firing,
    make_kiln,
    make_learnt_response,
    make_revision,
    make_schedule,
)
from tests.schedules.editor_forms import revision_sent

NOW = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)
LEARNT = "By this kiln’s recordings, nine of ten firings become cool enough to open"
KEYED = "By the figures keyed for this kiln, which give no range."


@pytest.fixture(autouse=True)
def _at_nine() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def revision(artist: Person) -> Revision:
    return make_revision(make_schedule(artist))


@pytest.fixture
def client(artist: Person, signed_in: Callable[[Person], Client]) -> Client:
    return signed_in(artist)


def firing_of(revision: Revision, kiln: Kiln, state: str, **overrides: Any) -> Firing:
    return make_firing(
        revision.schedule.owner, kiln=kiln, revision=revision, state=state, **overrides
    )


def schedule_page(client: Client, revision: Revision, kiln: Kiln) -> str:
    return client.get(
        reverse("schedules:schedule_detail", args=[revision.schedule_id]), {"kiln": kiln.pk}
    ).text


def editor_page(client: Client, revision: Revision, kiln: Kiln) -> str:
    address = reverse("schedules:revision_copy", args=[revision.schedule_id, revision.number])
    return client.post(address, revision_sent(kiln=kiln, do="preview")).text


def plan_page(client: Client, revision: Revision, kiln: Kiln) -> str:
    asked = {"revision": revision.pk, "kiln": kiln.pk, "planned_start": "2026-03-13T18:00"}
    return client.get(reverse("firings:firing_plan"), asked).text


def firing_page(client: Client, revision: Revision, kiln: Kiln) -> str:
    firing = firing_of(revision, kiln, "planned", planned_start=NOW)
    return client.get(reverse("firings:firing_detail", args=[firing.pk])).text


def front_page(client: Client, revision: Revision, kiln: Kiln) -> str:
    firing_of(revision, kiln, "firing", started_at=NOW - timedelta(hours=2))
    return client.get("/").text


PAGES = [schedule_page, editor_page, plan_page, firing_page, front_page]


@pytest.mark.parametrize("page_of", PAGES)
def test_a_learnt_kiln_has_its_range_beside_the_caution(
    page_of: Callable[..., str], client: Client, revision: Revision, kiln: Kiln
) -> None:
    make_learnt_response(kiln)
    text = page_of(client, revision, kiln)
    assert LEARNT in text
    assert KEYED not in text
    assert "A calculation, not a guarantee." in text


@pytest.mark.parametrize("page_of", PAGES)
@pytest.mark.parametrize("learnt", [None, {"foretells": False}])
def test_keyed_figures_are_named_and_promise_no_range(
    page_of: Callable[..., str],
    learnt: dict[str, Any] | None,
    client: Client,
    revision: Revision,
    kiln: Kiln,
) -> None:
    if learnt is not None:
        make_learnt_response(kiln, **learnt)
    text = page_of(client, revision, kiln)
    assert KEYED in text
    assert LEARNT not in text


@pytest.mark.parametrize("page_of", PAGES)
def test_a_plan_out_of_reach_says_neither(
    page_of: Callable[..., str], client: Client, revision: Revision
) -> None:
    weak = make_kiln("Wren", full_power_limit_c=780.0, rise_at_700_c_per_h=60.0)
    make_learnt_response(weak)
    text = page_of(client, revision, weak)
    assert KEYED not in text
    assert LEARNT not in text


def test_a_schedule_tells_it_from_the_start_and_by_the_clock(
    client: Client, revision: Revision, kiln: Kiln
) -> None:
    make_learnt_response(kiln)
    response = client.get(reverse("schedules:schedule_detail", args=[revision.schedule_id]))
    opening = response.context["shown"].planned.opening
    assert opening.starts_at == NOW
    early, late = (NOW + timedelta(seconds=each) for each in (opening.earliest_s, opening.latest_s))
    assert early.date() == late.date()
    from_start = plain(f"after {duration(opening.earliest_s)} to {duration(opening.latest_s)}")
    by_clock = f"between {early:%a %H:%M} and {late:%H:%M}."
    assert f"{LEARNT} {from_start}; if started now, {by_clock}" in response.text


def test_a_range_over_midnight_names_both_days(
    client: Client, revision: Revision, kiln: Kiln
) -> None:
    make_learnt_response(kiln)
    firing = firing_of(revision, kiln, "planned", planned_start=NOW)
    address = reverse("firings:firing_detail", args=[firing.pk])
    opening = client.get(address).context["page"].opening
    midnight = opening.at.replace(hour=0, minute=0) + timedelta(days=1)
    firing.planned_start = NOW + (midnight - opening.at)
    firing.save()
    page = client.get(address)
    opening = page.context["page"].opening
    assert f"between {opening.earliest_at:%a %H:%M} and {opening.latest_at:%a %H:%M}." in page.text


def test_a_firing_without_a_time_is_told_from_its_start(
    client: Client, revision: Revision, kiln: Kiln
) -> None:
    make_learnt_response(kiln)
    firing = firing_of(revision, kiln, "planned", planned_start=None)
    text = client.get(reverse("firings:firing_detail", args=[firing.pk])).text
    assert "</strong> after the start." in text
    assert f"{LEARNT} after " in text
    assert "between" not in text.partition(LEARNT)[2].partition("</p>")[0]


def test_an_opened_firing_foretells_nothing(client: Client, revision: Revision, kiln: Kiln) -> None:
    make_learnt_response(kiln)
    firing = firing_of(revision, kiln, "opened")
    page = client.get(reverse("firings:firing_detail", args=[firing.pk]))
    assert page.context["page"].opening is None
    assert LEARNT not in page.text


def test_front_page_keeps_the_range_until_it_is_over(
    client: Client, revision: Revision, kiln: Kiln
) -> None:
    make_learnt_response(kiln)
    firing_of(revision, kiln, "firing", started_at=NOW)
    opening = client.get("/").context["kilns"][0].fire.opening
    moments = {
        "before": (opening.earliest_s - 60, False, True),
        "within": ((opening.after_s + opening.latest_s) / 2, True, True),
        "after": (opening.latest_s + 60, True, False),
    }
    for seconds, is_past, has_range in moments.values():
        with time_machine.travel(NOW + timedelta(seconds=seconds), tick=False):
            text = client.get("/").text
        assert ("has been cool enough to open since" in text) is is_past
        assert (LEARNT in text) is has_range


def test_front_page_says_that_what_it_should_show_is_by_the_plan(
    client: Client, revision: Revision, kiln: Kiln
) -> None:
    text = " ".join(front_page(client, revision, kiln).split())
    assert "By the plan about 320 °C now, and cool enough to open, at 60 °C, on" in text


def test_front_page_without_a_running_kiln_needs_no_caution(client: Client, kiln: Kiln) -> None:
    assert "A calculation, not a guarantee." not in client.get("/").text
