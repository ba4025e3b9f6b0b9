"""When a kiln wants a service: by firings and hours since the last one of its kind."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from firings.queries.service_due import services_due
from studio.actions.service import intervals_write
from studio.models import Kiln, Person, ServiceEntry, ServiceInterval
from tests.factories import make_firing, make_kiln

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
MARCH = datetime(2026, 3, 3, 9, tzinfo=UTC)


@pytest.fixture
def kiln(artist: Person) -> Kiln:
    """Four firings of ten hours, one of unknown length."""
    kiln = make_kiln()
    for day in range(5):
        at = MARCH + timedelta(days=2 * day)
        make_firing(
            artist,
            kiln=kiln,
            state="opened",
            started_at=at,
            opened_at=at + timedelta(hours=20),
            recorded_duration_s=None if day == 4 else 36_000,
        )
    return kiln


def test_counted_from_the_last_service_of_its_kind(kiln: Kiln, keeper: Person) -> None:
    intervals_write(kiln=kiln, intervals={"relay": (10, None), "elements": (None, 35)})
    ServiceEntry.objects.create(
        kiln=kiln, kind="relay", done_on=MARCH.date() + timedelta(days=4), written_by=keeper
    )
    elements, relay = services_due()
    assert (relay.firings, relay.is_due, relay.since) == (3, False, MARCH.date() + timedelta(4))
    assert (elements.hours, elements.untimed, elements.since) == (40.0, 1, None)
    assert elements.is_due
    assert elements.share == pytest.approx(40 / 35)


def test_the_more_pressing_of_both_counts(kiln: Kiln) -> None:
    intervals_write(kiln=kiln, intervals={"relay": (100, 41)})
    (relay,) = services_due([kiln])
    assert relay.share == pytest.approx(40 / 41)
    assert relay.is_near
    assert not relay.is_due


def test_set_changed_and_taken_back_on_a_page(
    kiln: Kiln, keeper: Person, signed_in: SignIn
) -> None:
    client = signed_in(keeper)
    page = reverse("studio:service_intervals", args=[kiln.pk])
    assert client.get(page).status_code == 200
    refused = client.post(page, {"relay_firings": "0", "elements_hours": "many"})
    assert set(refused.context["form"].errors) == {"relay_firings", "elements_hours"}
    client.post(page, {"relay_firings": "4", "elements_hours": "1000"})
    assert ServiceInterval.objects.count() == 2
    for address in ("/", reverse("firings:kiln_history", args=[kiln.pk]), "/year/?year=2026"):
        assert "Heron: relay" in client.get(address).text
    assert "Heron: elements" not in client.get("/").text, "not due for long"
    client.post(page, {"relay_firings": "", "elements_hours": "1000"})
    assert ServiceInterval.objects.get().kind == "elements"


def test_today_tells_whoever_may_see_to_it(kiln: Kiln, artist: Person, signed_in: SignIn) -> None:
    intervals_write(kiln=kiln, intervals={"relay": (1, None)})
    assert "Service due" not in signed_in(artist).get("/").text
