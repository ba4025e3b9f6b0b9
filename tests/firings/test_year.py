"""A year of the studio: what was fired in each kiln and month, and what went wrong."""

import csv
import io
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.models import ComputedEnergy, Fault, Firing
from firings.queries.firing_page import firing_page
from firings.queries.year import studio_year
from firings.year_charts import measured_years
from firings.year_fault_charts import drawn_faults
from studio.models import Person, Studio
from tests.factories import load_piece, make_class, make_firing, make_kiln, make_person

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
MARCH = datetime(2026, 3, 3, 9, tzinfo=UTC)


def fired(person: Person, at: datetime, **facts: Any) -> Firing:
    return make_firing(
        person, state="opened", started_at=at, opened_at=at + timedelta(hours=20), **facts
    )


def test_firings_hours_and_energy_by_kiln_and_month(artist: Person, signed_in: SignIn) -> None:
    heron, wren = make_kiln("Heron"), make_kiln("Wren")
    fired(artist, MARCH, kiln=heron, recorded_duration_s=36_000, energy_kwh=Decimal("21.5"))
    fired(artist, MARCH + timedelta(days=2), kiln=heron, recorded_duration_s=18_000)
    fired(artist, MARCH + timedelta(days=70), kiln=wren, energy_kwh=Decimal("8"))
    fired(artist, MARCH - timedelta(days=365), kiln=wren)
    make_firing(artist, kiln=wren)
    year = studio_year(2026, artist)
    (first, second) = year.kilns
    assert [month.firings for month in first.months] == [0, 0, 2, *[0] * 9]
    march = first.months[2]
    assert (march.seconds, march.untimed) == (54_000, 0)
    assert (march.kwh, march.metered, march.unmetered) == (Decimal("21.5"), 1, 1)
    assert (second.whole.firings, second.whole.untimed) == (1, 1)
    assert (year.whole.firings, year.whole.kwh) == (3, Decimal("29.5"))
    page = signed_in(artist).get(reverse("firings:year") + "?year=2026")
    assert "15 h 00" in page.text
    assert "by the meter, 2 of 3" in page.text
    before = signed_in(artist).get(reverse("firings:year") + "?year=2025")
    assert before.context["shown"].year == 2025


def keep(firing: Firing, kwh: float, least: float, most: float, error: float) -> None:
    ComputedEnergy.objects.update_or_create(
        firing=firing,
        defaults={
            "kwh": kwh,
            "least_kwh": least,
            "most_kwh": most,
            "relative_error": error,
            "by": "recording",
            "metered": 0,
        },
    )


def test_energy_without_a_meter_is_computed_and_said_so(artist: Person, signed_in: SignIn) -> None:
    kiln = make_kiln(power_kw=None)
    metered = fired(artist, MARCH, kiln=kiln, energy_kwh=Decimal("20"))
    keep(metered, 99.0, 99.0, 99.0, 0.1)
    keep(fired(artist, MARCH, kiln=kiln), 30.0, 28.0, 32.0, 0.1)
    keep(fired(artist, MARCH, kiln=kiln), 10.0, 10.0, 10.0, 0.12)
    fired(artist, MARCH, kiln=kiln)

    whole = studio_year(2026, artist).whole

    # By hand: 30 × 0.1 + (32 − 28) / 2 = 5, and 10 × 0.12 = 1.2; a meter wins over what is kept.
    assert (whole.kwh, whole.metered) == (Decimal("20"), 1)
    assert (whole.computed_kwh, whole.computed, whole.unknown) == (40.0, 2, 1)
    assert whole.doubt_kwh == pytest.approx(6.2)
    assert whole.all_kwh == 60.0
    page = " ".join(signed_in(artist).get(reverse("firings:year") + "?year=2026").text.split())
    assert "by the meter, 1 of 4</span> + about 40 kWh" in page
    assert (
        'computed for 2, give or take 6 kWh</span> <span class="soft small">and 1 unknown' in page
    )


def test_the_year_says_what_a_firings_page_says(
    artist: Person, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        firing = fired(artist, MARCH)

    energy = firing_page(firing.pk, reader=artist, studio=Studio.current()).energy

    assert energy is not None
    whole = studio_year(2026, artist).whole
    assert whole.computed_kwh == pytest.approx(energy.use.kwh)
    assert whole.doubt_kwh == pytest.approx(energy.use.standard_deviation)


def test_the_year_ends_by_the_studios_clock(artist: Person) -> None:
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Asia/Kolkata"})
    fired(artist, datetime(2025, 12, 31, 20, tzinfo=UTC))
    with timezone.override("Asia/Kolkata"):
        assert studio_year(2026, artist).months[0].firings == 1
    with timezone.override("UTC"):
        assert studio_year(2025, artist).months[11].firings == 1


def test_faults_are_counted_by_kiln_glass_and_process(artist: Person) -> None:
    firing = fired(artist, MARCH)
    bad = load_piece(firing)
    load_piece(firing, title="Another")
    for kind in ("small_bubbles", "stuck"):
        Fault.objects.create(loaded_piece=bad, kind=kind, noted_by=artist)
    faults = studio_year(2026, artist).faults
    (row,) = faults["kiln"]
    assert (row.name, row.pieces, row.faulty, row.share) == ("Heron", 2, 1, 0.5)
    assert dict(row.kinds) == {"small bubbles between layers": 1, "stuck": 1}
    assert [row.name for row in faults["process"]] == ["full fuse"]
    assert [row.name for row in faults["glass"]] == ["not written down"]


def test_faults_by_person_are_seen_by_whoever_may(
    artist: Person, student: Person, instructor: Person, keeper: Person
) -> None:
    other = make_person("tove", role="student")
    make_class(instructor, students=[student])
    make_class(make_person("petr", role="instructor"), students=[other])
    firing = fired(artist, MARCH)
    for maker in (artist, student, other):
        load_piece(firing, maker=maker)

    def seen(reader: Person) -> set[str]:
        return {row.name for row in studio_year(2026, reader).faults["person"]}

    assert seen(keeper) == {"Inka", "Ravi", "Tove"}
    assert seen(instructor) == {"Ravi"}
    assert seen(student) == {"Ravi"}
    assert seen(artist) == {"Inka"}


def test_as_csv(artist: Person, signed_in: SignIn) -> None:
    fired(artist, MARCH, kiln=make_kiln("=Heron"), recorded_duration_s=36_000)
    answer = signed_in(artist).get(reverse("firings:year_csv") + "?year=2026")
    text = b"".join(answer.streaming_content).decode("utf-8-sig")  # type: ignore[attr-defined]
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 12
    assert rows[2]["month"] == "2026-03"
    assert (rows[2]["firings"], rows[2]["hours"]) == ("1", "10.0")
    assert rows[2]["firings of unknown energy"] == "1"
    assert rows[2]["kiln"] == "'=Heron", "no formula for a spreadsheet"


def test_firings_hours_and_energy_are_drawn_as_the_table_says(artist: Person) -> None:
    heron, wren = make_kiln("Heron"), make_kiln("Wren")
    facts = {"recorded_duration_s": 36_000, "energy_kwh": Decimal("20")}
    for kiln, day in ((heron, 0), (heron, 1), (wren, 2), (wren, 40)):
        fired(artist, MARCH + timedelta(days=day), kiln=kiln, **facts)

    firings, hours, energy = measured_years(studio_year(2026, artist))

    assert [each.measure for each in (firings, hours, energy)] == ["firings", "hours", "energy"]
    of_march = [[figures[2] for _, figures in each.rows] for each in (firings, hours, energy)]
    assert of_march == [[2, 1], [20, 10], [40, 20]]
    assert [each.all_rows[-1] for each in (firings, hours, energy)] == [4, 40, 80]
    for each in (firings, hours, energy):
        # Of March Heron's bar stands below Wren's and is twice as high; April's is Wren's alone.
        first, second, april = each.drawing.bars
        assert first.height == pytest.approx(2 * second.height, abs=0.2)
        assert second.y + second.height == pytest.approx(first.y, abs=0.2)
        assert april.height == second.height
        assert float(each.drawing.counts[-1].label) >= max(each.all_rows[:-1])


def test_faults_are_drawn_on_one_scale(artist: Person) -> None:
    long_name = "Kiln of the long bench by the window, number two"
    for name, faulty in (("Heron", 2), (long_name, 1)):
        firing = fired(artist, MARCH, kiln=make_kiln(name))
        pieces = [load_piece(firing, title=f"Tile {number}") for number in range(4)]
        for loaded in pieces[:faulty]:
            Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=artist)

    by_kiln = drawn_faults(studio_year(2026, artist))[0]

    assert by_kiln.subject == "kiln"
    first, second = by_kiln.drawing.bars
    assert (first.words, second.words) == ("2 of 4", "1 of 4")
    assert first.faulty * 2 == first.pieces == second.faulty * 4
    assert second.name.endswith("…")
    assert first.bar_y < second.name_y < second.bar_y < by_kiln.drawing.height


def test_two_people_of_one_name_are_two(keeper: Person) -> None:
    firing = fired(keeper, MARCH)
    for number in range(2):
        namesake = make_person(f"ravi{number}", name="Ravi Penhale")
        loaded = load_piece(firing, maker=namesake, title=f"Tile {number}")
        Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=keeper)
    rows = studio_year(2026, keeper).faults["person"]
    assert [(row.name, row.pieces) for row in rows] == [("Ravi Penhale", 1)] * 2


def test_faults_as_csv_hold_what_the_reader_may_see(
    artist: Person, student: Person, keeper: Person, signed_in: SignIn
) -> None:
    loaded = load_piece(fired(artist, MARCH), maker=artist)
    Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=artist)

    def read(reader: Person) -> list[dict[str, str]]:
        answer = signed_in(reader).get(reverse("firings:year_faults_csv") + "?year=2026")
        text = b"".join(answer.streaming_content).decode("utf-8-sig")  # type: ignore[attr-defined]
        return list(csv.DictReader(io.StringIO(text)))

    seen = read(keeper)
    assert [row["by"] for row in seen] == ["kiln", "process", "glass", "person"]
    assert {(row["pieces"], row["with a fault"], row["mostly"]) for row in seen} == {
        ("1", "1", "stuck 1")
    }
    assert [row["by"] for row in read(student)] == ["kiln", "process", "glass"]


def test_an_empty_studio_and_a_wrong_year(artist: Person, signed_in: SignIn) -> None:
    page = signed_in(artist).get(reverse("firings:year"))
    assert "Nothing was fired" in page.text
    assert signed_in(artist).get(reverse("firings:year") + "?year=soon").status_code == 404
    assert signed_in(artist).get(reverse("firings:year") + "?year=1999").status_code == 200


def test_it_asks_as_often_for_one_firing_as_for_many(artist: Person, signed_in: SignIn) -> None:
    client = signed_in(artist)

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("firings:year") + "?year=2026")
        return len(queries)

    load_piece(fired(artist, MARCH))
    asked()
    few = asked()
    for day in range(1, 6):
        load_piece(fired(artist, MARCH + timedelta(days=day)))
    assert asked() == few
