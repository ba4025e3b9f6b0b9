from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from studio.models import Person, Studio
from tests.factories import make_person


def answers(**overrides: Any) -> dict[str, Any]:
    return {
        "name": "Millrace Glass Studio",
        "time_zone": "Europe/Lisbon",
        "largest_peak_step_c": "6",
        "largest_hold_step_minutes": "10",
        "currency": "GBP",
    } | overrides


def test_keeper_sets_the_studio(keeper: Person, signed_in: Callable[[Person], Client]) -> None:
    response = signed_in(keeper).post("/studio/", answers(), follow=True)

    studio = Studio.current()
    assert (studio.name, studio.time_zone) == ("Millrace Glass Studio", "Europe/Lisbon")
    assert (studio.largest_peak_step_c, studio.largest_hold_step_minutes) == (6.0, 10)
    assert studio.currency == "GBP"
    assert "Millrace Glass Studio</a>" in response.text


def test_peak_step_is_a_difference(signed_in: Callable[[Person], Client], db: None) -> None:
    keeper = make_person("mads", role="keeper", unit="F")

    signed_in(keeper).post("/studio/", answers(largest_peak_step_c="9"))

    assert Studio.current().largest_peak_step_c == pytest.approx(5.0)
    assert 'value="9"' in signed_in(keeper).get("/studio/").text


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("largest_peak_step_c", "26"),
        ("largest_peak_step_c", "-1"),
        ("largest_peak_step_c", "a little"),
        ("largest_hold_step_minutes", "61"),
        ("time_zone", "Atlantis/Middle"),
        ("name", ""),
        ("currency", "pounds"),
        ("currency", "gb"),
    ],
)
def test_bad_answer_is_said_at_its_field(
    field: str, typed: str, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    response = signed_in(keeper).post("/studio/", answers(**{field: typed}))

    assert response.context["form"].errors[field]
    assert Studio.current().name == "Our studio"


@pytest.mark.parametrize("role", ["instructor", "artist", "student"])
def test_others_may_not(role: str, signed_in: Callable[[Person], Client], db: None) -> None:
    assert signed_in(make_person("tove", role=role)).get("/studio/").status_code == 403
