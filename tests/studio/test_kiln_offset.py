"""An offset stands until the thermocouple is changed."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client

from schedules.core_inputs import kiln_limits_of
from studio.models import Kiln, Person, ServiceEntry
from tests.factories import make_kiln

MEASURED = {"offset_c": 9.0, "offset_evidence": "tiles", "offset_measured_on": date(2026, 3, 10)}


def changed(kiln: Kiln, keeper: Person, day: date, kind: str = "thermocouple") -> None:
    ServiceEntry.objects.create(kiln=kiln, kind=kind, done_on=day, written_by=keeper)


@pytest.mark.parametrize(
    ("on_record", "kind", "day", "since"),
    [
        (MEASURED, "thermocouple", date(2026, 3, 11), date(2026, 3, 11)),
        (MEASURED, "thermocouple", date(2026, 3, 10), None),
        (MEASURED, "thermocouple", date(2026, 3, 9), None),
        (MEASURED, "elements", date(2026, 4, 1), None),
        (MEASURED | {"offset_c": 0.0}, "thermocouple", date(2026, 4, 1), date(2026, 4, 1)),
        (MEASURED | {"offset_measured_on": None}, "thermocouple", date(2025, 1, 1),
         date(2025, 1, 1)),
        ({"offset_c": 9.0}, "thermocouple", date(2026, 4, 1), date(2026, 4, 1)),
        ({}, "thermocouple", date(2026, 4, 1), None),
    ],
)  # fmt: skip
def test_a_new_thermocouple_makes_it_void(
    keeper: Person, on_record: dict[str, Any], kind: str, day: date, since: date | None
) -> None:
    kiln = make_kiln(**on_record)
    changed(kiln, keeper, day, kind)

    assert kiln.offset_void_since == since
    assert kiln.known_offset_c == (0.0 if since else kiln.offset_c)
    assert kiln.is_offset_proven == (
        since is None and bool(kiln.offset_evidence or kiln.offset_measured_on)
    )


def test_what_is_void_is_not_reckoned_with(keeper: Person) -> None:
    kiln = make_kiln(**MEASURED)
    assert kiln_limits_of(kiln).offset == 9.0

    changed(kiln, keeper, date(2026, 5, 3))

    assert kiln_limits_of(kiln).offset == 0.0


def test_the_day_of_its_fitting_counts_too(db: None) -> None:
    assert make_kiln(**MEASURED, thermocouple_fitted_on=date(2026, 3, 11)).offset_void_since


def test_the_pages_say_since_when_it_is_unproven(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    kiln = make_kiln(**MEASURED)
    changed(kiln, keeper, date(2026, 5, 3))
    browser = signed_in(keeper)

    page = browser.get(f"/kilns/{kiln.pk}/").text
    assert "unproven since the thermocouple was changed on 3 May 2026: the +9 °C" in page
    assert "<dt>Offset</dt><dd>unproven</dd>" in browser.get("/kilns/").text
