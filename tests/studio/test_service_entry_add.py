from collections.abc import Callable
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from studio.models import Kiln, Person, ServiceEntry
from tests.factories import make_kiln, make_person


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


def answers(**overrides: Any) -> dict[str, Any]:
    return {
        "kind": "elements",
        "done_on": "2026-05-04",
        "done_by": "an engineer",
        "note": "two new ones",
    } | overrides


@pytest.mark.parametrize("role", ["keeper", "instructor"])
def test_service_is_noted(role: str, kiln: Kiln, signed_in: Callable[[Person], Client]) -> None:
    person = make_person("tove", role=role)

    response = signed_in(person).post(f"/kilns/{kiln.pk}/service/add/", answers(), follow=True)

    entry = kiln.service_entries.get()
    assert (entry.kind, entry.written_by) == ("elements", person)
    assert "4 May 2026" in response.text


@pytest.mark.parametrize("role", ["artist", "student"])
def test_others_only_read_the_diary(
    role: str, kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    entry = ServiceEntry.objects.create(kiln=kiln, kind="relay", written_by=keeper)
    browser = signed_in(make_person("tove", role=role))

    assert browser.get(f"/kilns/{kiln.pk}/service/").status_code == 200
    assert browser.post(f"/kilns/{kiln.pk}/service/add/", answers()).status_code == 403
    assert browser.post(f"/service/{entry.pk}/change/", answers()).status_code == 403
    assert browser.post(f"/service/{entry.pk}/remove/").status_code == 403


def test_day_to_come_is_refused_with_all_else_kept(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()

    response = signed_in(keeper).post(f"/kilns/{kiln.pk}/service/add/", answers(done_on=tomorrow))

    assert "still to come" in str(response.context["form"].errors["done_on"])
    assert 'value="an engineer"' in response.text
    assert "two new ones</textarea>" in response.text
    assert not kiln.service_entries.exists()


def test_form_sent_twice_makes_one_line(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser, asked = signed_in(keeper), answers(form_key=uuid4())

    for _ in range(2):
        browser.post(f"/kilns/{kiln.pk}/service/add/", asked)

    assert kiln.service_entries.count() == 1


def test_line_is_changed_and_removed(
    kiln: Kiln, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    entry = ServiceEntry.objects.create(kiln=kiln, kind="relay", written_by=keeper)
    browser = signed_in(keeper)

    browser.post(f"/service/{entry.pk}/change/", answers(kind="shelf_wash"))
    entry.refresh_from_db()
    assert entry.kind == "shelf_wash"

    assert browser.get(f"/service/{entry.pk}/remove/").status_code == 405
    browser.post(f"/service/{entry.pk}/remove/")
    assert not kiln.service_entries.exists()
    assert browser.post(f"/service/{entry.pk}/remove/").status_code == 404


def test_a_new_thermocouple_is_said_to_make_the_offset_unproven(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    kiln = make_kiln(offset_c=9.0, offset_measured_on=date(2026, 3, 10))
    browser = signed_in(keeper)

    for kind, is_said in (("elements", False), ("thermocouple", True)):
        answer = browser.post(
            f"/kilns/{kiln.pk}/service/add/",
            answers(kind=kind, form_key=str(uuid4())),
            follow=True,
        )
        assert ("Its offset is unproven from that day on." in answer.text) == is_said
