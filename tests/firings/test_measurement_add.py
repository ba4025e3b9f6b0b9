"""Writing down what was measured, by each means; wrong input is named, and kept as typed."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from firings.actions.measuring import measurement_save
from firings.models import KilnMeasurement, PlaceReading
from studio.models import Kiln, Person, ShelfPlace
from studio.models.trail import records_of
from tests.factories import make_family, make_kiln, make_measurement, make_person, make_place

SignIn = Callable[[Person], Client]


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def places(kiln: Kiln) -> list[ShelfPlace]:
    return [make_place(kiln, is_reference=True), make_place(kiln, "front", y_percent=83)]


def send(
    browser: Client, kiln: Kiln, means: str, shown: dict[ShelfPlace, object], **given: object
) -> Any:
    today = f"{timezone.localdate():%Y-%m-%d}"
    usual: dict[str, object] = {"measured_on": today, "display_c": "800", "tolerance_c": "3"}
    if means == "strips":
        usual |= {
            "display_c": "620", "strip_thickness_mm": "3", "gap_mm": "60",
            "family": make_family().pk,
        }  # fmt: skip
    elif means == "tiles":
        usual |= {"family": make_family().pk}
    sent = usual | given | {f"place_{place.pk}": value for place, value in shown.items()}
    address = reverse("firings:measurement_add", args=[kiln.pk])
    return browser.post(f"{address}?means={means}", sent, follow=True)


@pytest.mark.parametrize(
    ("means", "value", "kept"),
    [
        ("thermometer", "806,5", {"shown_c": 806.5}),
        ("tiles", "-1", {"state": -1}),
        ("strips", "3,5", {"sag_mm": 3.5}),
    ],
)
def test_each_means_keeps_what_its_places_showed(
    artist: Person,
    signed_in: SignIn,
    kiln: Kiln,
    places: list[ShelfPlace],
    means: str,
    value: str,
    kept: dict[str, object],
) -> None:
    answer = send(signed_in(artist), kiln, means, {places[0]: value, places[1]: ""})

    assert "What was measured is saved." in answer.text
    reading = PlaceReading.objects.get()
    assert (reading.place, reading.measurement.means) == (places[0], means)
    assert {name: getattr(reading, name) for name in kept} == kept
    assert reading.measurement.measured_by == artist


def test_fahrenheit_is_read_as_fahrenheit(
    signed_in: SignIn, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    wilf = make_person("wilf", role="artist", unit="F")

    send(
        signed_in(wilf), kiln, "thermometer", {places[0]: "1481"},
        display_c="1472", tolerance_c="5.4",
    )  # fmt: skip

    measurement = KilnMeasurement.objects.get()
    assert measurement.display_c == pytest.approx(800.0)
    assert measurement.tolerance_c == pytest.approx(3.0)
    assert measurement.readings.get().shown_c == pytest.approx(805.0)


@pytest.mark.parametrize(
    ("means", "shown", "given", "said"),
    [
        ("thermometer", "", {}, "Note at least one place."),
        ("thermometer", "1481", {}, "Between 0 °C and 1400 °C"),
        ("thermometer", "870", {}, "That is 70 °C from the kiln’s display; 60 °C at the most."),
        ("thermometer", "warm", {}, "Enter a number, such as 804."),
        ("thermometer", "806", {"tolerance_c": "30"}, "Between 0 °C and 20 °C, please."),
        ("thermometer", "806", {"tolerance_c": ""}, "This field is required."),
        ("thermometer", "806", {"display_c": "20"}, "Between 100 °C and 1300 °C, please."),
        ("strips", "9", {}, "Between 1 and 6 mm, a tenth of the gap"),
        ("strips", "0.5", {}, "Between 1 and 6 mm, a tenth of the gap"),
        ("strips", "three", {}, "Enter a number of millimetres, such as 6."),
        ("strips", "3", {"gap_mm": ""}, "This field is required."),
        ("strips", "3", {"gap_mm": "3"}, "greater than or equal to 10"),
        ("tiles", "7", {}, "Select a valid choice."),
        ("tiles", "0", {"family": ""}, "This field is required."),
    ],
)
def test_wrong_input_is_named_and_nothing_typed_is_lost(
    artist: Person,
    signed_in: SignIn,
    kiln: Kiln,
    places: list[ShelfPlace],
    means: str,
    shown: str,
    given: dict[str, object],
    said: str,
) -> None:
    answer = send(signed_in(artist), kiln, means, {places[0]: shown}, note="by the door", **given)

    assert said in answer.text
    assert "by the door" in answer.text
    assert not KilnMeasurement.objects.exists()
    if shown and means != "tiles":
        assert f'value="{shown}"' in answer.text


def test_a_day_to_come_is_refused(
    artist: Person, signed_in: SignIn, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    tomorrow = timezone.localdate() + timedelta(days=1)

    answer = send(signed_in(artist), kiln, "thermometer", {places[0]: "806"}, measured_on=tomorrow)

    assert "That day is still to come." in answer.text


def test_sent_twice_is_noted_once(
    artist: Person, signed_in: SignIn, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    browser = signed_in(artist)
    key = {"form_key": "0b5f3b1e-6d0c-4c63-9d2c-2b9a3a5b0f10"}

    send(browser, kiln, "thermometer", {places[0]: "806"}, **key)
    send(browser, kiln, "thermometer", {places[0]: "806"}, **key)

    assert KilnMeasurement.objects.count() == 1


def test_changing_keeps_takes_out_and_adds(
    artist: Person, signed_in: SignIn, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    centre, front = places
    measurement = make_measurement(kiln, artist, {centre: 806.0})
    address = reverse("firings:measurement_change", args=[measurement.pk])
    browser = signed_in(artist)
    assert 'value="806"' in browser.get(address).text

    browser.post(
        address,
        {
            "measured_on": f"{measurement.measured_on:%Y-%m-%d}", "display_c": "801",
            "tolerance_c": "3", f"place_{centre.pk}": "", f"place_{front.pk}": "799",
        },
    )  # fmt: skip

    measurement.refresh_from_db()
    assert measurement.display_c == 801.0
    assert [(each.place, each.shown_c) for each in measurement.readings.all()] == [(front, 799.0)]


def test_removing_leaves_a_trail_with_its_kiln(
    artist: Person, signed_in: SignIn, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    measurement = make_measurement(kiln, artist, {places[0]: 806.0})
    pk = measurement.pk
    browser = signed_in(artist)

    browser.post(reverse("firings:measurement_remove", args=[pk]))

    assert not KilnMeasurement.objects.exists()
    assert records_of(KilnMeasurement).objects.filter(id=pk, history_type="-").exists()
    trail = browser.get(reverse("studio:trail_detail", args=["kiln", kiln.pk])).text
    assert "Measured with a second thermometer" in trail
    assert "Reading at centre removed" in trail
    assert "806 °C" in trail


def test_a_place_that_was_measured_stays(
    keeper: Person, signed_in: SignIn, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    make_measurement(kiln, keeper, {places[1]: 806.0})

    page = signed_in(keeper).get(reverse("studio:place_list_change", args=[kiln.pk])).text

    assert page.count("so it stays") == 1


def test_saving_without_a_reading_is_refused(
    artist: Person, kiln: Kiln, places: list[ShelfPlace]
) -> None:
    measurement = KilnMeasurement(
        kiln=kiln, means="thermometer", display_c=800.0, tolerance_c=3.0, measured_by=artist
    )
    with pytest.raises(ValidationError, match="at least one place"):
        measurement_save(measurement=measurement, readings={places[0]: None})
    assert not KilnMeasurement.objects.exists()


def test_a_place_shows_one_thing(artist: Person, kiln: Kiln, places: list[ShelfPlace]) -> None:
    measurement = make_measurement(kiln, artist)
    for wrong in ({"shown_c": 800.0, "state": 0}, {}):
        with pytest.raises(IntegrityError), transaction.atomic():
            PlaceReading.objects.create(measurement=measurement, place=places[0], **wrong)
