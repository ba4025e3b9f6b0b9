"""Two people change a schedule's facts at a time."""

from collections.abc import Callable

from django.test import Client
from django.urls import reverse

from studio.models import Person
from tests.factories import make_revision, make_schedule
from tests.forms_sent import as_shown

SignedIn = Callable[[Person], Client]


def test_each_saves_their_part_of_a_schedules_facts(artist: Person, signed_in: SignedIn) -> None:
    schedule = make_revision(make_schedule(artist)).schedule
    address = reverse("schedules:schedule_edit", args=[schedule.pk])
    one, other = signed_in(artist), signed_in(artist)
    first, second = (each.get(address).context["form"] for each in (one, other))
    family = schedule.family

    one.post(address, as_shown(first) | {"thinnest_mm": "5", "thickest_mm": "9"})
    other.post(address, as_shown(second) | {"note": "for the long shelf"})

    schedule.refresh_from_db()
    assert (schedule.thinnest_mm, schedule.thickest_mm) == (5.0, 9.0)
    assert (schedule.note, schedule.family) == ("for the long shelf", family)


def test_what_was_typed_comes_back_with_a_refusal(artist: Person, signed_in: SignedIn) -> None:
    schedule = make_revision(make_schedule(artist)).schedule
    address = reverse("schedules:schedule_edit", args=[schedule.pk])
    browser = signed_in(artist)
    shown = as_shown(browser.get(address).context["form"])
    form = browser.post(address, shown | {"name": "", "note": "keep me"}).context["form"]
    assert form.errors.keys() == {"name"}
    assert form["note"].value() == "keep me"
