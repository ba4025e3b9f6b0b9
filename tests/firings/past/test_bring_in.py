"""Past firings come in with a list: once, as they are told, and nothing follows from them."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone

from firings.actions.record import firing_change
from firings.models import (
    Booking,
    BroughtFiring,
    ComputedEnergy,
    Fault,
    Firing,
    Forecast,
    LoadedPiece,
    Message,
    Piece,
)
from firings.queries.review import pieces_to_review
from firings.queries.statements import fired_in
from firings.queries.today import pieces_waiting_for
from firings.queries.verdicts_in import verdicts_in
from firings.queries.year_costs import year_costs
from schedules.models import Revision, Schedule
from studio.actions.list_import import list_begin, list_preview, list_take_in
from studio.actions.list_run import list_run
from studio.days import month_of
from studio.models import ImportState, ListImport, Person
from studio.models.trail import records_of
from studio.services.lists.table import read_table
from tests.factories import (
    load_piece,
    make_class,
    make_firing,
    make_glass,
    make_kiln,
    make_person,
    make_prices,
    make_revision,
    make_schedule,
)
from tests.firings.past.sheets import ROW, SEGMENTS, csv_of
from tests.studio.lists.bringing import csv_file

Signed = Callable[[Person], Client]


def brought(by: Person, raw: bytes, **asked: Any) -> ListImport:
    taken = looked_at(by, raw, **asked)
    return list_run(taken=list_begin(taken=taken))


def looked_at(by: Person, raw: bytes, **asked: Any) -> ListImport:
    table = read_table(raw)
    taken = list_take_in(kind="firings", by=by, name="past.csv", raw=raw, table=table)
    chosen = {"decimal": taken.decimal, "day_first": taken.day_first} | asked
    return list_preview(taken=taken, places=taken.places, **chosen)


@pytest.fixture
def studio(keeper: Person, artist: Person) -> Revision:
    """Heron, and a full fuse of one revision, owned by the keeper."""
    Person.objects.filter(pk=artist.pk).update(name="Inka Vale")
    make_kiln()
    return make_revision(make_schedule(keeper, name="Full fuse"))


ROWS = (
    ROW | {"faults": "needles", "notes": "on the left"},
    ROW | {"piece": "Fern tile", "verdict": "a touch short", "faults": ""},
    ROW | {"date": "2024-03-06 09:30", "maker": "", "peak (°C)": "1479 °F", "verdict": ""},
)


def test_rows_become_firings_with_their_pieces(studio: Revision, keeper: Person) -> None:
    taken = brought(keeper, csv_of(*ROWS))

    assert (taken.state, taken.fates["new"]) == (ImportState.DONE, 3)
    first, second = Firing.objects.order_by("started_at")
    moss, fern = first.load.order_by("pk")
    assert [str(piece.piece) for piece in (moss, fern)] == ["Moss tile", "Fern tile"]
    assert (moss.is_served, fern.is_served, moss.verdict, fern.verdict) == (True, False, 0, -1)
    assert (moss.piece.maker.name, moss.judged_by) == ("Inka Vale", None)
    assert (first.revision, first.state, first.notes) == (studio, "opened", "on the left")
    assert (first.brought.taken, first.brought.line) == (taken, 2)
    assert (first.brought.knows_time, second.brought.knows_time) == (False, True)
    assert [fault.kind for fault in moss.faults.all()] == ["needles"]
    assert (second.written_by, second.fired_by) == (keeper, keeper)
    assert second.recorded_peak_c == pytest.approx(803.9, abs=0.05)


def test_the_same_again_changes_nothing(studio: Revision, keeper: Person) -> None:
    raw = csv_of(*ROWS, ROWS[0])
    brought(keeper, raw)
    before = counts()

    again = looked_at(keeper, raw)

    assert again.fates == {"refused": 1, "changed": 0, "new": 0, "same": 3}
    assert list_run(taken=list_begin(taken=again)).state == ImportState.DONE
    assert counts() == before


def counts() -> list[int]:
    kept = (Firing, Piece, LoadedPiece, Fault, Schedule, Revision, BroughtFiring)
    return [model.objects.count() for model in kept]  # type: ignore[attr-defined]


@pytest.mark.parametrize("unit", ["C", "F"])
def test_what_is_saved_comes_back_and_changes_nothing(
    unit: str, studio: Revision, keeper: Person, artist: Person, signed_in: Signed
) -> None:
    Person.objects.filter(pk=keeper.pk).update(unit=unit)
    brought(keeper, csv_of(*ROWS))
    logged = make_firing(artist, revision=studio, state="opened", title="=Moss; fern",
                         recorded_peak_c=803.7, recorded_hold_s=605, notes="“so”, he said;\nyes",
                         energy_kwh=Decimal("12.5"))  # fmt: skip
    load_piece(logged, title="Moss; fern", verdict=-1)
    load_piece(logged, title="Tide bowl", maker=keeper)
    make_firing(artist, revision=studio, planned_start=timezone.now() + dt.timedelta(days=2))
    make_firing(artist, revision=studio, state="called_off", called_off_at=timezone.now())
    make_firing(artist, revision=studio, state="firing", kiln=make_kiln("Wren"))
    before = counts()

    for address in ("/logbook/logbook.csv", "/lists/firings.csv"):
        page = signed_in(Person.objects.get(pk=keeper.pk)).get(address)
        raw = b"".join(page.streaming_content)  # type: ignore[attr-defined]
        taken = looked_at(keeper, raw)
        rows = Firing.objects.count()
        assert taken.fates == {"refused": 0, "changed": 0, "new": 0, "same": rows}, address
        assert counts() == before


def test_what_is_saved_fills_another_studio(
    studio: Revision, keeper: Person, artist: Person, signed_in: Signed
) -> None:
    brought(keeper, csv_of(*ROWS))
    raw = b"".join(signed_in(keeper).get("/lists/firings.csv").streaming_content)  # type: ignore[attr-defined]
    LoadedPiece.objects.all().delete()
    Firing.objects.all().delete()
    Piece.objects.all().delete()

    taken = brought(keeper, raw)

    assert taken.fates["new"] == 2
    first, second = Firing.objects.order_by("started_at")
    assert [str(loaded.piece) for loaded in first.load.all()] == ["Moss tile", "Fern tile"]
    assert [each.brought.knows_time for each in (first, second)] == [False, True]
    assert first.load.all()[0].verdict == 0


def test_schedule_of_the_rows_is_put_on_record(studio: Revision, keeper: Person) -> None:
    make_glass(code="s-204")
    told = {"schedule": "Old one", "process": "Full fuse", "thickness": "6", "glass": "s-204"}
    first = ROW | told | SEGMENTS | {"unit": "F", "peak (°C)": ""}
    first |= {"segment 2 target": "1480", "segment 1 target": "1000", "segment 3 target": "900"}
    hotter = first | {"date": "2024-03-06", "segment 2 target": "1487"}

    brought(keeper, csv_of(first, hotter))

    schedule = Schedule.objects.get(name="Old one")
    newest, oldest = schedule.revisions.all()
    assert (schedule.owner, schedule.thickest_mm, schedule.process) == (keeper, 6.0, "full_fuse")
    assert [newest.number, oldest.number, newest.unit] == [2, 1, "F"]
    assert newest.segments.get(position=2).target == 1487
    assert oldest.firings.get().load.get().glass.code == "s-204"


def test_nothing_follows_from_what_is_brought_in(
    studio: Revision,
    keeper: Person,
    artist: Person,
    signed_in: Signed,
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    make_prices()
    make_class(keeper, students=[artist])
    yesterday = timezone.localdate() - dt.timedelta(days=1)
    with django_capture_on_commit_callbacks(execute=True):
        brought(keeper, csv_of(*ROWS, ROW | {"date": yesterday, "verdict": "", "piece": "Pearl"}))

    for model in (Forecast, ComputedEnergy, Booking, Message):
        assert not model.objects.exists(), model  # type: ignore[attr-defined]
    assert not mail.outbox
    for person in (artist, keeper):
        assert not pieces_waiting_for(person)
        assert not pieces_to_review(person)
        assert not verdicts_in(person, timezone.now())
    assert not fired_in(month_of(yesterday))
    assert not year_costs(yesterday.year).whole.firings
    pearl = Firing.objects.get(title="Pearl")
    assert "What it cost" not in signed_in(keeper).get(f"/firings/{pearl.pk}/").text


def test_each_row_has_its_trail(studio: Revision, keeper: Person) -> None:
    brought(keeper, csv_of(*ROWS))
    for model, there in ((Firing, 2), (Piece, 3), (LoadedPiece, 3), (Fault, 1)):
        records = records_of(model)._base_manager.all()
        assert len(records) == there
        assert {each.history_user for each in records} == {keeper}
        assert {each.history_change_reason for each in records} == {"list past.csv"}


def test_whose_sheet_it_was_stands_on_the_firing_s_page(
    studio: Revision, keeper: Person, artist: Person, signed_in: Signed
) -> None:
    brought(keeper, csv_of(*ROWS))
    first, second = Firing.objects.order_by("started_at")
    page = signed_in(artist).get(f"/firings/{first.pk}/").text
    assert "Brought in</dt><dd>by Mads on" in page
    assert "past.csv, line 2<" in page
    assert "Mon 4 Mar 2024, time not known" in page
    assert "12:00" not in page
    assert "Wed 6 Mar 2024, 09:30" in signed_in(artist).get(f"/firings/{second.pk}/").text


def test_time_is_known_once_somebody_says_it(
    studio: Revision, keeper: Person, signed_in: Signed
) -> None:
    brought(keeper, csv_of(ROW))
    firing = Firing.objects.get()
    assert firing.started_at is not None
    firing_change(firing=firing, changes={"started_at": firing.started_at.replace(hour=7)})
    firing = Firing.objects.get()
    assert (firing.knows_time, firing.brought.knows_opening) == (True, False)


def test_student_and_artist_bring_in_no_firings(
    studio: Revision, artist: Person, student: Person, signed_in: Signed
) -> None:
    for person in (artist, student):
        assert signed_in(person).get("/lists/firings/bring/").status_code == 403
        assert "/lists/firings/bring/" not in signed_in(person).get("/firings/").text


def test_units_and_order_of_dates_are_asked_never_guessed(
    studio: Revision, keeper: Person, signed_in: Signed
) -> None:
    raw = csv_file(
        ("date", "kiln", "schedule", "top"), ("03/04/2024", "Heron", "Full fuse", "1480")
    )
    taken = list_take_in(kind="firings", by=keeper, name="a.csv", raw=raw, table=read_table(raw))
    browser, address = signed_in(keeper), f"/lists/brought/{taken.pk}/columns/"
    form = browser.get(address).context["form"]
    sent = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    assert (sent["temperature_unit"], sent["day_first"]) == ("", "")

    page = browser.post(address, sent)
    assert "“top” names no unit; say it here." in page.text
    assert "day_first" in page.context["form"].errors

    page = browser.post(
        address, sent | {"temperature_unit": "F", "day_first": "month"}, follow=True
    )
    assert "4 Mar 2024" in page.text or "1480 °F = 804 °C" in page.text
    other = list_take_in(kind="firings", by=keeper, name="b.csv", raw=raw, table=read_table(raw))
    assert other.temperature_unit == "F"


def test_refused_rows_are_told_in_words(
    studio: Revision, keeper: Person, signed_in: Signed
) -> None:
    make_person("wilf", name="Wilf")
    rows = (
        ROW | {"peak (°C)": "1480"},
        ROW | {"kiln": "Dodo"},
        ROW | {"maker": "Nobody"},
        ROW | {"schedule": "Old one"},
        ROW | {"verdict": "7/10"},
    )
    taken = looked_at(keeper, csv_of(*rows))
    page = signed_in(keeper).get(f"/lists/brought/{taken.pk}/").text
    for words in (
        "Recorded peak: 1480 °C is above the highest of Heron, 950 °C.",
        "No kiln here is called “Dodo”.",
        "Makers: nobody here is called “Nobody”.",
        "No schedule here is called “Old one”",
        "Verdict: “7/10” is none of well short (−2)",
    ):
        assert words in page
