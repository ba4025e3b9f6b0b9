from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from studio.actions.kilns import kiln_add, places_arrange
from studio.models import Kiln, Person, ShelfPlace
from tests.factories import load_piece, make_firing, make_kiln, make_place


@pytest.fixture
def kiln(db: None) -> Kiln:
    kiln = make_kiln()
    make_place(kiln, "back", y_percent=20)
    make_place(kiln, "centre", is_reference=True)
    return kiln


def rows(kiln: Kiln, *added: dict[str, Any], reference: str = "place-1") -> dict[str, Any]:
    """The form as the page would send it: the kiln's places, then what is added."""
    places = list(kiln.places.all())
    asked: dict[str, Any] = {
        "place-TOTAL_FORMS": len(places) + max(len(added), 1),
        "place-INITIAL_FORMS": len(places),
        "reference": reference,
    }
    for number, place in enumerate(places):
        asked |= {
            f"place-{number}-id": place.pk,
            f"place-{number}-name": place.name,
            f"place-{number}-x_percent": place.x_percent,
            f"place-{number}-y_percent": place.y_percent,
        }
    for number, place in enumerate(added, start=len(places)):
        asked |= {f"place-{number}-{field}": value for field, value in place.items()}
    return asked


def send(browser: Client, kiln: Kiln, asked: dict[str, Any]) -> Any:
    return browser.post(f"/kilns/{kiln.pk}/shelf/", asked)


def test_place_is_moved_renamed_and_added(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    front = {"name": "front", "x_percent": 50, "y_percent": 80}
    asked = rows(kiln, front) | {"place-0-name": "cold corner", "place-0-x_percent": 5}

    assert send(signed_in(keeper), kiln, asked).status_code == 302

    assert list(kiln.places.values_list("name", "x_percent", "y_percent", "is_reference")) == [
        ("cold corner", 5, 20, False),
        ("centre", 50, 50, True),
        ("front", 50, 80, False),
    ]


def test_another_place_becomes_the_reference(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    send(signed_in(keeper), kiln, rows(kiln, reference="place-0"))

    assert kiln.places.get(is_reference=True).name == "back"


def test_new_place_may_be_the_reference_at_once(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    front = {"name": "front", "x_percent": 50, "y_percent": 80}

    send(signed_in(keeper), kiln, rows(kiln, front, reference="place-2"))

    assert kiln.places.get(is_reference=True).name == "front"


def test_two_places_swap_their_names(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    asked = rows(kiln) | {"place-0-name": "centre", "place-1-name": "back"}

    assert send(signed_in(keeper), kiln, asked).status_code == 302

    assert list(kiln.places.values_list("name", flat=True)) == ["centre", "back"]


def test_place_is_removed(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    send(signed_in(keeper), kiln, rows(kiln) | {"place-0-DELETE": "on"})

    assert [place.name for place in kiln.places.all()] == ["centre"]


def test_place_where_a_piece_lay_stays(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    back = kiln.places.get(name="back")
    load_piece(make_firing(keeper, kiln=kiln), place=back)
    browser = signed_in(keeper)

    assert "Pieces have lain here" in browser.get(f"/kilns/{kiln.pk}/shelf/").text
    send(browser, kiln, rows(kiln) | {"place-0-DELETE": "on"})

    assert kiln.places.filter(name="back").exists()
    with pytest.raises(ValidationError):
        places_arrange(kiln=kiln, kept=[], removed=[back], reference=kiln.places.get(name="centre"))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"place-0-name": "Centre"}, "Another place has this name"),
        ({"place-0-name": ""}, "required"),
        ({"place-0-x_percent": "101"}, "less than or equal to 100"),
        ({"place-0-y_percent": "-1"}, "greater than or equal to 0"),
        ({"reference": ""}, "Choose one place as the reference"),
        ({"reference": "place-1", "place-1-DELETE": "on"}, "Choose one place as the reference"),
        ({"reference": "place-2"}, "Choose one place as the reference"),
    ],
)
def test_bad_shelf_is_refused_with_what_was_typed(
    change: dict[str, str],
    says: str,
    kiln: Kiln,
    keeper: Person,
    signed_in: Callable[[Person], Client],
) -> None:
    before = list(kiln.places.values_list("name", "is_reference"))

    response = send(signed_in(keeper), kiln, rows(kiln) | change)

    assert response.status_code == 200
    assert says in response.text
    assert list(kiln.places.values_list("name", "is_reference")) == before


def test_places_of_another_kiln_are_out_of_reach(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    other = kiln_add(kiln=Kiln(**_facts("Plover")))
    foreign = other.places.first()
    assert foreign is not None

    response = send(signed_in(keeper), kiln, rows(kiln) | {"place-0-id": foreign.pk})

    assert "changed meanwhile" in response.text
    assert ShelfPlace.objects.get(pk=foreign.pk).kiln == other


def _facts(name: str) -> dict[str, Any]:
    return {
        "name": name,
        "chamber_width_mm": 400,
        "chamber_depth_mm": 400,
        "chamber_height_mm": 200,
        "max_temperature_c": 900.0,
    }
