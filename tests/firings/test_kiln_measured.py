"""The page of what was measured in a kiln, its CSV, and an offset taken over into the record."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from firings.measured_charts import series_drawing
from firings.queries.measured import measured_kiln, offset_bands_of, readings_of
from firings.services.kiln_offset import offset_at
from studio.models import Kiln, Person, ServiceEntry, ShelfPlace
from tests.factories import (
    load_piece,
    make_family,
    make_firing,
    make_kiln,
    make_measurement,
    make_person,
    make_place,
    make_revision,
    make_schedule,
)

SignIn = Callable[[Person], Client]


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def centre(kiln: Kiln) -> ShelfPlace:
    return make_place(kiln, is_reference=True)


@pytest.fixture
def front(kiln: Kiln) -> ShelfPlace:
    return make_place(kiln, "front", y_percent=83)


def page_of(kiln: Kiln) -> str:
    return reverse("firings:kiln_measured", args=[kiln.pk])


def changed(kiln: Kiln, by: Person, day: date, kind: str = "thermocouple") -> None:
    ServiceEntry.objects.create(kiln=kiln, kind=kind, done_on=day, written_by=by)


def test_an_offset_is_told_with_its_spread_where_it_was_measured(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace
) -> None:
    make_measurement(kiln, keeper, {centre: 806.0}, display_c=800.0)

    page = signed_in(keeper).get(page_of(kiln)).text

    # Its own ±3 °C over √3, a reading's 1 °C and the kiln's 1.5: 2 · √(1.732² + 1² + 1.5²) = 5.
    assert '+6 °C ± 5 °C</strong> near <span class="number">800 °C' in page
    assert "Further than 40 °C from where it was measured" in page
    assert offset_at(482.0, readings_of(kiln)) is None


def test_a_new_thermocouple_begins_anew(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace
) -> None:
    today = timezone.localdate()
    make_measurement(kiln, keeper, {centre: 806.0}, measured_on=today - timedelta(days=9))
    changed(kiln, keeper, today - timedelta(days=5))
    assert offset_bands_of(kiln) == []
    page = signed_in(keeper).get(page_of(kiln)).text
    assert "Nothing since the thermocouple was changed tells" in page
    assert "before the thermocouple was changed" in page

    make_measurement(kiln, keeper, {centre: 797.0}, measured_on=today - timedelta(days=5))

    (band,) = offset_bands_of(kiln)
    assert (band.offset.value, band.offset.measurements) == (-3.0, 1)


def test_new_elements_begin_a_new_shelf_and_leave_the_offset(
    keeper: Person, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    today = timezone.localdate()
    then = {"measured_on": today - timedelta(days=9)}
    make_measurement(kiln, keeper, {centre: 806.0, front: 790.0}, **then)
    assert measured_kiln(kiln, keeper).shelf is not None

    changed(kiln, keeper, today - timedelta(days=5), "elements")

    shown = measured_kiln(Kiln.objects.get(pk=kiln.pk), keeper)
    assert shown.shelf is None
    assert len(shown.bands) == 1


def test_the_cold_place_is_named_with_what_is_behind_it(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    for _ in range(3):
        make_measurement(kiln, keeper, {centre: 805.0, front: 791.0})

    page = signed_in(keeper).get(page_of(kiln)).text

    assert "Front is the coldest place: 13." in page
    assert "3 measured" in page
    assert ">−14</text>" in page or ">−13</text>" in page


def test_judged_pieces_of_ordinary_firings_tell_of_the_shelf(
    artist: Person, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    revision = make_revision(make_schedule(artist))
    for _ in range(8):
        firing = make_firing(
            artist, kiln=kiln, revision=revision, state="opened", recorded_peak_c=804.0,
            recorded_hold_s=600,
        )  # fmt: skip
        load_piece(firing, place=centre, verdict=0, judged_by=artist)
        load_piece(firing, place=front, verdict=-1, judged_by=artist)

    shown = measured_kiln(kiln, artist)

    assert shown.coldest is not None
    assert shown.coldest.place == front
    # A step of verdict is some 6 °C at 804 °C; places of a shelf are taken to be alike.
    assert -9.0 < shown.coldest.seen.difference < -3.0
    assert shown.pieces == 16


def test_what_somebody_keeps_to_themselves_tells_nobody_else_of_the_shelf(
    artist: Person, student: Person, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    firing = make_firing(artist, kiln=kiln, state="opened", recorded_peak_c=804.0, is_private=True)
    load_piece(firing, place=centre, verdict=0, judged_by=artist)
    load_piece(firing, place=front, verdict=-2, judged_by=artist)

    assert measured_kiln(kiln, artist).shelf is not None
    assert measured_kiln(kiln, student).shelf is None


def test_strips_tell_the_offset_by_the_recording_of_their_firing(
    artist: Person, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    revision = make_revision(make_schedule(artist), [("150", "600", 15), (None, "482", 60)])
    firing = make_firing(
        artist, kiln=kiln, revision=revision, state="opened", recorded_peak_c=600.0,
        recorded_hold_s=900,
    )  # fmt: skip
    strips = {
        "means": "strips", "display_c": 600.0, "tolerance_c": None, "family": make_family(),
        "strip_thickness_mm": 3.0, "gap_mm": 60.0,
    }  # fmt: skip
    make_measurement(kiln, artist, {centre: 4.0, front: 3.0}, **strips)
    assert offset_bands_of(kiln) == []

    make_measurement(kiln, artist, {centre: 4.0, front: 3.0}, **strips, firing=firing)

    (band,) = offset_bands_of(kiln)
    # At 600 °C for 15 min such a strip sags some 3.3 mm: at 4 the glass was hotter by ln 1.2/0.08.
    assert band.offset.value == pytest.approx(2.2, abs=1.5)
    assert band.offset.spread > 8.0  # a glass softens within 4 °C of its sheet, at the best


def test_years_are_drawn_with_their_services(
    keeper: Person, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    today = timezone.localdate()
    for days in (400, 200, 3):
        on = today - timedelta(days=days)
        make_measurement(kiln, keeper, {centre: 806.0, front: 800.0}, measured_on=on)
    changed(kiln, keeper, today - timedelta(days=300))

    drawing = series_drawing(measured_kiln(kiln, keeper), "C")

    assert drawing is not None
    offsets, ranges = drawing.lanes
    assert [dot.is_current for dot in offsets.dots] == [False, True, True]
    assert len(ranges.dots) == 3
    assert all(dot.high < dot.y < dot.low for dot in offsets.dots)
    assert offsets.dots[0].x < drawing.epochs[0].x < offsets.dots[1].x


@pytest.mark.parametrize(("unit", "told"), [("C", "+6 °C ± 5 °C"), ("F", "+10.8 °F ± 9 °F")])
def test_differences_are_differences_in_the_readers_unit(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace, unit: str, told: str
) -> None:
    make_measurement(kiln, keeper, {centre: 806.0})

    assert told in signed_in(make_person("finn", unit=unit)).get(page_of(kiln)).text


def test_csv_has_a_line_a_place(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace, front: ShelfPlace
) -> None:
    make_measurement(kiln, keeper, {centre: 806.0, front: 800.0}, note="=1+1")

    answer: Any = signed_in(keeper).get(reverse("firings:kiln_measured_csv", args=[kiln.pk]))
    header, *lines = b"".join(answer.streaming_content).decode().splitlines()

    assert header.startswith("\ufeffkiln,on,measured with")
    assert [line.split(",")[6:8] for line in lines] == [["centre", "806.0"], ["front", "800.0"]]
    assert all(line.endswith(",'=1+1") for line in lines)


def test_taking_an_offset_over_writes_it_with_its_evidence(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace
) -> None:
    make_measurement(kiln, keeper, {centre: 806.0}, measured_on=date(2026, 3, 4))
    make_measurement(
        kiln, keeper, {centre: 0}, means="tiles", display_c=790.0, wanted_at_c=796.0,
        measured_on=date(2026, 3, 5),
    )  # fmt: skip
    (band,) = offset_bands_of(kiln)
    browser = signed_in(keeper)

    browser.post(reverse("firings:offset_adopt", args=[kiln.pk]), {"seen": band.seen})

    kiln.refresh_from_db()
    assert kiln.offset_c == pytest.approx(6.0, abs=0.1)
    assert kiln.offset_measured_on == date(2026, 3, 5)
    assert kiln.offset_evidence.startswith(
        "2 measurements with witness tiles and a second thermometer at 790 to 800 °C, ± "
    )
    assert kiln.is_offset_proven


def test_what_changed_meanwhile_is_not_taken_over(
    keeper: Person, signed_in: SignIn, kiln: Kiln, centre: ShelfPlace
) -> None:
    make_measurement(kiln, keeper, {centre: 806.0})
    (band,) = offset_bands_of(kiln)
    make_measurement(kiln, keeper, {centre: 790.0})

    answer = signed_in(keeper).post(
        reverse("firings:offset_adopt", args=[kiln.pk]), {"seen": band.seen}, follow=True
    )

    assert "has changed meanwhile" in answer.text
    kiln.refresh_from_db()
    assert kiln.offset_c == 0.0


def test_without_a_reference_place_the_page_asks_for_it(
    keeper: Person, signed_in: SignIn, kiln: Kiln, front: ShelfPlace
) -> None:
    make_measurement(kiln, keeper, {front: 806.0})

    assert "No place of its shelf is the reference" in signed_in(keeper).get(page_of(kiln)).text


def test_more_measurements_and_firings_ask_no_more(
    keeper: Person,
    signed_in: SignIn,
    kiln: Kiln,
    centre: ShelfPlace,
    front: ShelfPlace,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    revision = make_revision(make_schedule(keeper))

    def fill() -> None:
        firing = make_firing(
            keeper, kiln=kiln, revision=revision, state="opened", recorded_peak_c=804.0
        )
        load_piece(firing, place=front, verdict=-1, judged_by=keeper)
        load_piece(firing, place=centre, verdict=0, judged_by=keeper)
        make_measurement(
            kiln, keeper, {centre: 2.0, front: 1.5}, means="strips", display_c=620.0,
            family=make_family(), strip_thickness_mm=3.0, gap_mm=60.0, firing=firing,
        )  # fmt: skip

    browser = signed_in(keeper)
    fill()
    browser.get(page_of(kiln))
    with django_assert_max_num_queries(60) as few:
        browser.get(page_of(kiln))
    for _ in range(4):
        fill()
    with django_assert_max_num_queries(len(few)):
        browser.get(page_of(kiln))
