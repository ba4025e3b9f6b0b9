"""Moving a schedule shows what was measured in both kilns, at its top and at its anneal."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from schedules.models import Revision
from studio.models import Kiln, Person, ServiceEntry
from tests.factories import make_kiln, make_measurement, make_place, make_revision, make_schedule

SignIn = Callable[[Person], Client]


@pytest.fixture
def kilns(db: None) -> tuple[Kiln, Kiln]:
    both = make_kiln("Heron"), make_kiln("Wren")
    for kiln in both:
        make_place(kiln, is_reference=True)
    return both


@pytest.fixture
def revision(artist: Person, kilns: tuple[Kiln, Kiln]) -> Revision:
    return make_revision(make_schedule(artist), written_for=kilns[0])


def measured(kiln: Kiln, by: Person, display: float, glass: float, days: int = 0) -> None:
    make_measurement(
        kiln, by, {kiln.places.get(): glass}, display_c=display,
        measured_on=timezone.localdate() - timedelta(days=days),
    )  # fmt: skip


def moved(browser: Client, revision: Revision, kilns: tuple[Kiln, Kiln], **more: str) -> Any:
    address = reverse("firings:revision_to_kiln", args=[revision.schedule_id, revision.number])
    asked = {"from_kiln": str(kilns[0].pk), "to_kiln": str(kilns[1].pk)}
    return browser.get(address, asked | more)


def test_each_kiln_is_told_near_the_top_and_near_the_anneal(
    artist: Person, signed_in: SignIn, revision: Revision, kilns: tuple[Kiln, Kiln]
) -> None:
    measured(kilns[0], artist, 800.0, 803.0)
    measured(kilns[1], artist, 484.0, 490.0)

    answer = moved(signed_in(artist), revision, kilns)

    top, soak = answer.context["moved"].measured_top, answer.context["moved"].measured_soak
    assert (top.source.value, top.target) == (3.0, None)
    assert (soak.at, soak.source, soak.target.value) == (482.0, None, 6.0)
    assert (top.difference, soak.difference) == (None, None)
    assert "Measured near 804 °C" in answer.text
    assert "Measured near the anneal, 482 °C" in answer.text
    assert answer.text.count('<span class="off small">unproven</span>') >= 2


def test_what_was_measured_near_the_anneal_moves_the_soak_by_one_tap(
    artist: Person, signed_in: SignIn, revision: Revision, kilns: tuple[Kiln, Kiln]
) -> None:
    measured(kilns[0], artist, 482.0, 480.0)
    measured(kilns[1], artist, 484.0, 488.0)
    browser = signed_in(artist)
    page = moved(browser, revision, kilns).text
    assert 'name="soak_difference" value="+6 °C"' in page
    evidence = page.partition('name="soak_evidence" value="measured')[2].partition('"')[0]

    answer = moved(
        browser, revision, kilns, soak_difference="+6 °C", soak_evidence=f"measured{evidence}"
    )

    assert answer.context["moved"].translation.soak_shift == -6.0
    assert "measured in both near 482 °C" in answer.context["moved"].reason


def test_what_was_taken_over_is_as_sure_as_it_was_measured(
    artist: Person, signed_in: SignIn, revision: Revision, kilns: tuple[Kiln, Kiln]
) -> None:
    """Once: 2 · √(1.732² + 1² + 1.5²) = 5 °C for 95 of 100, half of it a standard deviation."""
    for kiln, glass in zip(kilns, (800.0, 809.0), strict=True):
        measured(kiln, artist, 804.0, glass + 4.0)
        kiln.offset_c, kiln.offset_evidence = glass - 800.0, "a second thermometer"
        kiln.save()
    kilns[0].measurements.all().delete()  # its evidence in words is left

    recorded = moved(signed_in(artist), revision, kilns).context["moved"].recorded

    assert recorded.value == 9.0
    # 4/√2 by the words of one, 2.5 by the measurement of the other.
    assert recorded.doubt == pytest.approx((8.0 + 6.25) ** 0.5, abs=0.01)


def test_measured_before_a_new_thermocouple_is_unproven(
    artist: Person, signed_in: SignIn, revision: Revision, kilns: tuple[Kiln, Kiln]
) -> None:
    wren = kilns[1]
    measured(wren, artist, 800.0, 809.0, days=20)
    wren.offset_c, wren.offset_evidence = 9.0, "a second thermometer"
    wren.offset_measured_on = timezone.localdate() - timedelta(days=20)
    wren.save()
    day = timezone.localdate() - timedelta(days=10)
    ServiceEntry.objects.create(kiln=wren, kind="thermocouple", done_on=day, written_by=artist)

    answer = moved(signed_in(artist), revision, kilns)

    shown = answer.context["moved"]
    assert shown.measured_top.target is None
    assert shown.recorded.value == 0.0
    assert f"unproven since the thermocouple was changed on {day:%-d %b %Y}" in answer.text
    assert "was not measured since its thermocouple was changed" in answer.text
