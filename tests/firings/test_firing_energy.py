"""The energy of a firing whose meter nobody read, on its page."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from firings.models import Firing
from firings.queries.energy import FiringEnergy
from firings.queries.firing_page import firing_page
from studio.models import Person, Studio
from tests.factories import make_firing, make_kiln, make_revision, make_schedule
from tests.firings.logger_files import recorded

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


def energy_of(firing: Firing, reader: Person) -> FiringEnergy | None:
    return firing_page(firing.pk, reader=reader, studio=Studio.current()).energy


def test_by_the_plan_before_and_by_the_recording_after(artist: Person, signed_in: SignIn) -> None:
    planned = make_firing(artist)
    by_plan = energy_of(planned, artist)
    assert by_plan is not None
    assert (by_plan.by, by_plan.metered) == ("plan", 0)
    page = signed_in(artist).get(reverse("firings:firing_detail", args=[planned.pk]))
    assert "Energy, computed" in page.text
    assert "A meter read after two firings" in page.text
    opened = make_firing(artist, state="opened", revision=planned.revision)
    recorded(opened, by=artist)
    by_recording = energy_of(opened, artist)
    assert by_recording is not None
    assert by_recording.by == "recording"
    assert by_recording.use.kwh == pytest.approx(by_plan.use.kwh, rel=0.2)


def test_metered_firings_of_the_kiln_make_it_surer(artist: Person) -> None:
    revision = make_revision(make_schedule(artist))
    kiln = make_kiln()
    planned = make_firing(artist, kiln=kiln, revision=revision)
    alone = energy_of(planned, artist)
    assert alone is not None
    metered = Decimal(f"{alone.use.kwh * 1.2:.1f}")
    for _ in range(3):
        make_firing(artist, kiln=kiln, revision=revision, state="opened", energy_kwh=metered)
    told = energy_of(planned, artist)
    assert told is not None
    assert told.metered == 3
    assert told.use.kwh == pytest.approx(float(metered), rel=0.05)
    assert told.use.relative_error < alone.use.relative_error / 2


def test_what_was_metered_is_not_computed(artist: Person) -> None:
    assert energy_of(make_firing(artist, state="opened", energy_kwh=Decimal(20)), artist) is None


def test_without_the_kilns_power_nothing_is_told(artist: Person) -> None:
    assert energy_of(make_firing(artist, kiln=make_kiln(power_kw=None)), artist) is None
