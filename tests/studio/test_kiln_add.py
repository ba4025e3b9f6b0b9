from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from studio.formats import plain
from studio.models import Kiln, Person
from tests.factories import make_kiln, make_person

ADD = "/kilns/add/"


def answers(**overrides: Any) -> dict[str, Any]:
    return {
        "name": "Plover",
        "place": "by the door",
        "chamber_shape": "oval",
        "chamber_width_mm": "600",
        "chamber_depth_mm": "400",
        "chamber_height_mm": "200",
        "heat_from": "both",
        "max_temperature_c": "930",
        "power_kw": "4.8",
        "clearance_mm": "300",
        "serial_number": "MR-1",
        "manual_url": "manuals.millrace.example/plover",
        "in_service": "on",
        "controller_segments": "8",
        "controller_unit": "C",
        "controller_step": "1",
        "ramp_entry": "rate",
        "field_order": "ramp_target_hold",
        "hold_format": "h.mm",
        "longest_hold_minutes": "",
        "full_power_entry": "FULL",
        "closing_entry": "",
        "memory_slots": "6",
        "thermocouple_type": "K",
        "thermocouple_class": "iec_1",
        "thermocouple_fitted_on": "2026-03-01",
        "offset_c": "5",
        "offset_measured_on": "2026-04-01",
        "offset_evidence": "three witness tiles at 804 °C",
        "repeatability_c": "1.5",
        "rise_at_700_c_per_h": "420",
        "full_power_limit_c": "1180",
        "cooling_constant_h": "3.4",
        "slow_cooling_constant_h": "6.6",
        "note": "",
    } | overrides


def test_keeper_adds_a_kiln_with_nine_places(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    response = signed_in(keeper).post(ADD, answers(), follow=True)

    kiln = Kiln.objects.get()
    assert (kiln.name, kiln.hold_format, kiln.offset_c) == ("Plover", "h.mm", 5.0)
    assert kiln.manual_url == "https://manuals.millrace.example/plover"
    assert kiln.places.count() == 9
    assert kiln.places.get(is_reference=True).name == "centre"
    assert "three witness tiles" in response.text


def test_a_new_kiln_begins_with_usual_figures_in_the_readers_unit(
    signed_in: Callable[[Person], Client], db: None
) -> None:
    keeper = make_person("mads", role="keeper", unit="F")

    form = signed_in(keeper).get(ADD).context["form"]

    shown = {name: form[name].value() for name in ("offset_c", "repeatability_c")}
    assert shown == {"offset_c": "0", "repeatability_c": "2.7"}  # differences: 1.5 °C is 2.7 °F
    assert form["rise_at_700_c_per_h"].value() == "720"
    assert form["full_power_limit_c"].value() == "2282"


def test_figures_are_taken_in_the_readers_unit(
    signed_in: Callable[[Person], Client], db: None
) -> None:
    keeper = make_person("mads", role="keeper", unit="F")
    asked = answers(
        max_temperature_c="2372",  # the highest that is taken: 1300 °C
        offset_c="-72",  # a difference: −40 °C, not −57.8
        rise_at_700_c_per_h="756",  # a difference: 420 °C
        full_power_limit_c="2462",  # 1350 °C
        repeatability_c="2.7",
    )

    signed_in(keeper).post(ADD, asked)

    kiln = Kiln.objects.get()
    assert (kiln.max_temperature_c, kiln.offset_c) == (1300.0, -40.0)
    assert kiln.rise_at_700_c_per_h == pytest.approx(420.0)
    assert kiln.full_power_limit_c == pytest.approx(1350.0)
    assert kiln.repeatability_c == pytest.approx(1.5)
    change = signed_in(keeper).get(f"/kilns/{kiln.pk}/change/").text
    for typed in ('value="2372"', 'value="-72"', 'value="756"', 'value="2462"', 'value="2.7"'):
        assert typed in change


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("name", "", "required"),
        ("max_temperature_c", "1301", "1300 °C"),
        ("max_temperature_c", "hot", "number"),
        ("offset_c", "41", "+40 °C"),
        ("offset_c", "-41", "−40 °C"),
        ("repeatability_c", "0", "0.1 °C"),
        ("rise_at_700_c_per_h", "4", "5 °C"),
        ("full_power_limit_c", "700", "701 °C"),
        ("full_power_limit_c", "930", "930 °C"),
        ("cooling_constant_h", "0", "0.1"),
        ("slow_cooling_constant_h", "3", "3.4 hours"),
        ("chamber_width_mm", "-3", "greater"),
        ("controller_segments", "0", "1"),
        ("controller_step", "0", "0.1"),
        ("manual_url", "not an address", "URL"),
        ("hold_format", "h.m.s", "valid choice"),
        ("thermocouple_fitted_on", "last spring", "date"),
    ],
)
def test_bad_figure_is_said_at_its_field_and_all_else_is_kept(
    field: str,
    typed: str,
    says: str,
    keeper: Person,
    signed_in: Callable[[Person], Client],
) -> None:
    response = signed_in(keeper).post(ADD, answers(**{field: typed}))

    assert says in plain(str(response.context["form"].errors[field]))
    assert 'value="MR-1"' in response.text
    assert not Kiln.objects.exists()


def test_name_that_is_taken_is_refused(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    make_kiln("Plover")

    response = signed_in(keeper).post(ADD, answers())

    assert response.context["form"].errors["name"]


def test_form_sent_twice_makes_one_kiln(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser, asked = signed_in(keeper), answers(form_key=uuid4())

    first, second = browser.post(ADD, asked), browser.post(ADD, asked)

    assert first.headers["Location"] == second.headers["Location"]
    assert Kiln.objects.count() == 1


@pytest.mark.parametrize("role", ["instructor", "artist", "student"])
def test_only_the_keeper_adds_and_changes(
    role: str, signed_in: Callable[[Person], Client], db: None
) -> None:
    kiln = make_kiln()
    browser = signed_in(make_person("tove", role=role))

    assert browser.get(ADD).status_code == 403
    assert browser.post(ADD, answers()).status_code == 403
    assert browser.post(f"/kilns/{kiln.pk}/change/", answers()).status_code == 403
    assert browser.post(f"/kilns/{kiln.pk}/shelf/").status_code == 403
    assert "Change" not in browser.get(f"/kilns/{kiln.pk}/").text


def test_keeper_takes_a_kiln_out_of_service(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    kiln = make_kiln("Plover")
    asked = answers()
    del asked["in_service"]
    browser = signed_in(keeper)

    browser.post(f"/kilns/{kiln.pk}/change/", asked)

    kiln.refresh_from_db()
    assert not kiln.in_service
    assert "out of service" in browser.get("/kilns/").text
