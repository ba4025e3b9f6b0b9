import csv
import io
from datetime import UTC, datetime, timedelta

from django.test import Client

from firings.models import Fault
from studio.models import Person, Studio
from tests.factories import load_piece, make_firing, make_person

ADDRESS = "/logbook/logbook.csv"


def lines_of(client: Client, **query: str) -> list[dict[str, str]]:
    response = client.get(ADDRESS, query)
    assert response.status_code == 200
    assert response.streaming
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    assert "\u00a0" not in text
    return list(csv.DictReader(io.StringIO(text)))


def test_csv_holds_the_filtered_firings(artist: Person, signed_in) -> None:
    start = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
    firing = make_firing(
        artist,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=16),
        recorded_peak_c=804.0,
        recorded_hold_s=600,
        title="Third repeat",
        also_changed=["mould"],
    )
    piece = load_piece(firing, verdict=-1)
    Fault.objects.create(loaded_piece=piece, kind="split", noted_by=artist)
    make_firing(artist)

    [line] = lines_of(signed_in(artist), state="opened")

    assert line["title"] == "Third repeat"
    assert line["recorded peak (°C)"] == "804.0"
    assert line["recorded hold (min)"] == "10"
    assert (line["verdict (-2 to 2)"], line["verdict"]) == ("-1", "a touch short")
    assert (line["faults"], line["what else changed"]) == ("split", "mould")
    assert line["recorded duration (min)"] == ""


def test_csv_is_in_the_readers_unit_and_the_studios_zone(artist: Person, signed_in) -> None:
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Pacific/Auckland"})
    make_firing(
        artist,
        state="opened",
        started_at=datetime(2026, 3, 3, 18, 0, tzinfo=UTC),
        recorded_peak_c=804.0,
    )

    [line] = lines_of(signed_in(make_person("finn", unit="F")))

    assert line["recorded peak (°F)"] == "1479.2"
    assert line["started"] == "2026-03-04 07:00"


def test_unjudged_is_empty_not_zero(artist: Person, signed_in) -> None:
    load_piece(make_firing(artist, state="opened"))

    [line] = lines_of(signed_in(artist))

    assert line["verdict (-2 to 2)"] == line["verdict"] == ""
    assert line["not judged yet (pieces)"] == "1"


def test_no_cell_is_taken_for_a_formula(artist: Person, signed_in) -> None:
    make_firing(artist, title='=HYPERLINK("x")', notes="@risk")

    [line] = lines_of(signed_in(artist))

    assert line["title"] == '\'=HYPERLINK("x")'
    assert line["notes"] == "'@risk"


def test_csv_only_answers_get_and_only_to_people(
    artist: Person, signed_in, outsider: Client
) -> None:
    assert signed_in(artist).post(ADDRESS).status_code == 405
    assert outsider.get(ADDRESS).status_code == 302
