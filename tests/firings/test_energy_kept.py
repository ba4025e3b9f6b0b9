"""What was computed of an opened firing's energy stays as it was."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from firings.actions.energy import energies_keep_missing, energy_keep
from firings.actions.record import firing_open
from firings.models import ComputedEnergy, Firing
from studio.models import Person
from tests.factories import make_firing, make_kiln
from tests.firings.logger_files import recorded

pytestmark = pytest.mark.django_db


def opened(artist: Person, **overrides: object) -> Firing:
    return make_firing(artist, state="opened", **overrides)


def test_kept_once_it_is_opened(artist: Person, django_capture_on_commit_callbacks: object) -> None:
    firing = make_firing(artist, state="firing")
    assert not ComputedEnergy.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        firing_open(firing=firing, opened_by=artist, opened_at=timezone.now())
    kept = ComputedEnergy.objects.get()
    assert (kept.firing_id, kept.by) == (firing.pk, "plan")
    assert kept.least_kwh <= kept.kwh <= kept.most_kwh


def test_recording_counts_once_it_is_there(
    artist: Person, django_capture_on_commit_callbacks: object
) -> None:
    firing = opened(artist)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        recorded(firing, by=artist)
    assert ComputedEnergy.objects.get().by == "recording"


def test_metered_energy_takes_its_place(artist: Person) -> None:
    firing = opened(artist)
    assert energy_keep(firing_pk=firing.pk) is not None
    firing.energy_kwh = Decimal(12)
    firing.save()
    assert energy_keep(firing_pk=firing.pk) is None
    assert not ComputedEnergy.objects.exists()


def test_later_meters_leave_what_was_kept(artist: Person) -> None:
    first = opened(artist)
    before = energy_keep(firing_pk=first.pk)
    assert before is not None
    for day in (1, 2):
        opened(
            artist,
            kiln=first.kiln,
            revision=first.revision,
            energy_kwh=Decimal(f"{before.kwh * 1.5:.1f}"),
            started_at=timezone.now() - timedelta(days=day, hours=20),
        )
    later = energy_keep(firing_pk=opened(artist, kiln=first.kiln, revision=first.revision).pk)
    assert later is not None
    assert later.metered == 2
    assert ComputedEnergy.objects.get(pk=first.pk).kwh == before.kwh


def test_nothing_is_kept_of_what_cannot_be_told(artist: Person) -> None:
    assert energy_keep(firing_pk=opened(artist, kiln=make_kiln(power_kw=None)).pk) is None
    assert energy_keep(firing_pk=make_firing(artist).pk) is None
    assert energy_keep(firing_pk=10**6) is None


def test_what_was_opened_before_is_caught_up_with(artist: Person) -> None:
    first = opened(artist)
    opened(artist, kiln=first.kiln, revision=first.revision, energy_kwh=Decimal(20))
    assert energies_keep_missing() == 1
    assert energies_keep_missing() == 0
