from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from studio.actions.kilns import first_places
from studio.models import Person as PersonRow
from studio.models import ServiceEntry, ShelfPlace, Studio
from studio.queries.kilns import kiln_remarks, latest_services
from studio.queries.places import shelf_drawing
from tests.factories import make_kiln, make_person, make_place


@pytest.mark.parametrize(
    ("on_record", "code"),
    [
        ({"offset_c": 15.1, "offset_evidence": "tiles"}, "offset_large"),
        ({"offset_c": -15.1, "offset_evidence": "tiles"}, "offset_large"),
        ({"offset_c": 3.0}, "offset_unproven"),
        (
            {
                "offset_c": 3.0,
                "offset_evidence": "tiles",
                "offset_measured_on": date(2026, 1, 1),
                "thermocouple_fitted_on": date(2026, 2, 1),
            },
            "offset_void",
        ),
        ({"full_power_entry": ""}, "full_power_unknown"),
    ],
)
def test_record_that_wants_a_look_is_remarked_on(
    on_record: dict[str, Any], code: str, db: None
) -> None:
    kiln = make_kiln(**{"full_power_entry": "FULL"} | on_record)

    assert kiln_remarks(kiln) == [code]


def test_sound_record_has_no_remarks(db: None) -> None:
    kiln = make_kiln(full_power_entry="FULL", offset_c=15.0, offset_evidence="tiles")

    assert kiln_remarks(kiln) == []


def test_large_offset_is_said_in_the_readers_unit(
    signed_in: Callable[[PersonRow], Client], db: None
) -> None:
    kiln = make_kiln(offset_c=20.0, offset_evidence="tiles")
    person = make_person("wilf", unit="F")

    page = signed_in(person).get(f"/kilns/{kiln.pk}/").text

    assert "An offset of +36 °F is large. More than 27 °F either way" in page
    assert "at 1292 °F it rises by about 720 °F/h" in page


def test_missing_kiln_is_no_page(
    artist: PersonRow, signed_in: Callable[[PersonRow], Client]
) -> None:
    assert signed_in(artist).get("/kilns/999/").status_code == 404


def test_shelf_is_drawn_to_the_chambers_shape(db: None) -> None:
    kiln = make_kiln(chamber_width_mm=600, chamber_depth_mm=300, chamber_shape="round")

    shelf = shelf_drawing(kiln, first_places(kiln))

    assert (shelf.width, shelf.height, shelf.shape) == (300.0, 150.0, "ellipse")
    assert all(0 < spot.x < shelf.width for spot in shelf.spots)
    assert all(0 < spot.y < spot.label_y <= shelf.height for spot in shelf.spots)
    assert [spot.label for spot in shelf.spots if spot.is_reference] == ["centre"]
    assert "centre (reference)" in shelf.says


def test_places_at_the_edges_stay_inside_the_drawing(db: None) -> None:
    kiln = make_kiln()
    corners = [
        ShelfPlace(kiln=kiln, name=f"{x} {y}", x_percent=x, y_percent=y)
        for x in (0, 100)
        for y in (0, 100)
    ]

    shelf = shelf_drawing(kiln, corners)

    assert {spot.x for spot in shelf.spots} == {12.0, shelf.width - 12.0}
    assert max(spot.label_y for spot in shelf.spots) <= shelf.height


def test_latest_service_is_one_of_each_kind(keeper: PersonRow) -> None:
    kiln = make_kiln()
    for kind, day in (("relay", 3), ("relay", 9), ("elements", 5), ("relay", 1)):
        ServiceEntry.objects.create(
            kiln=kiln, kind=kind, done_on=date(2026, 5, day), written_by=keeper
        )

    latest = latest_services(kiln)

    assert [(entry.kind, entry.done_on.day) for entry in latest] == [("relay", 9), ("elements", 5)]


def test_rows_cost_no_queries(
    keeper: PersonRow,
    signed_in: Callable[[PersonRow], Client],
    django_assert_num_queries: DjangoAssertNumQueries,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    Studio.current()
    kiln = make_kiln()
    make_place(kiln)
    ServiceEntry.objects.create(kiln=kiln, kind="relay", written_by=keeper)
    browser = signed_in(keeper)
    with django_assert_max_num_queries(12) as few_detail:
        browser.get(f"/kilns/{kiln.pk}/")
    with django_assert_max_num_queries(12) as few_list:
        browser.get("/kilns/")

    for number in range(9):
        make_kiln(f"kiln {number}")
        make_place(kiln, f"place {number}")
        person = make_person(f"person{number}")
        ServiceEntry.objects.create(kiln=kiln, kind="elements", written_by=person)

    with django_assert_num_queries(len(few_detail)):
        browser.get(f"/kilns/{kiln.pk}/")
    with django_assert_num_queries(len(few_list)):
        browser.get("/kilns/")
