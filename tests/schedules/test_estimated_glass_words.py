"""Wherever numbers rest on an estimate of the glass, the page says so in one sentence."""

from collections.abc import Callable
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from studio.models import Person
from studio.services.estimated_glass import EstimatedGlass, estimated_glass
from tests.factories import make_family, make_kiln, make_revision, make_schedule

UNKNOWN = {"strain_point_c": None, "softening_point_c": None}


def words(estimate: EstimatedGlass | None, unit: str = "C") -> str:
    context = {"estimate": estimate, "unit": unit}
    return " ".join(render_to_string("studio/_estimated_glass.html", context).split())


@pytest.mark.parametrize(
    ("known", "said"),
    [
        (
            {"annealing_point": 548.0},
            "Strain and softening point unknown: taken as 511 °C and 723 °C from the annealing "
            "point.",
        ),
        (
            {"strain_point": 511.0, "annealing_point": 548.0},
            "Softening point unknown: taken as 723 °C from the annealing point.",
        ),
        (
            {"strain_point": 493.0},
            "Annealing and softening point unknown: taken as 530 °C and 705 °C from the strain "
            "point.",
        ),
        (
            {"anneal_soak": 430.0},
            "Strain, annealing and softening point unknown: taken as 403 °C, 440 °C and 615 °C "
            "from the anneal soak.",
        ),
    ],
)
def test_what_is_assumed_is_said(known: dict[str, Any], said: str) -> None:
    assert said in words(estimated_glass(**known))


def test_estimate_is_said_in_the_readers_unit() -> None:
    assert "taken as 1333 °F" in words(
        estimated_glass(strain_point=511.0, annealing_point=548.0), "F"
    )


def test_known_glass_says_nothing() -> None:
    assert words(estimated_glass(493.0, 532.0, 677.0)) == words(None) == ""


def test_schedule_and_plan_say_on_what_they_rest(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    kiln = make_kiln()
    revision = make_revision(make_schedule(artist, family=make_family("half known", **UNKNOWN)))
    browser = signed_in(artist)
    pages = (
        browser.get(reverse("schedules:schedule_detail", args=[revision.schedule_id])),
        browser.get(
            reverse("firings:firing_plan"), {"revision": str(revision.pk), "kiln": str(kiln.pk)}
        ),
    )
    for page in pages:
        said = " ".join(page.text.split())
        assert "Strain and softening point unknown: taken as 495 °C and 707 °C" in said
