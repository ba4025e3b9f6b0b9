"""How a file reads: agreed with, overruled, taken, taken back."""

from collections.abc import Callable
from io import BytesIO
from typing import Any

import numpy as np
import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from firings.actions.recording import recording_take
from firings.actions.recording_files import recording_files_add
from firings.core_inputs import keyed_curve
from firings.models import Firing, RecordingFile, RecordingSeries
from studio.models import Person, Studio
from studio.services.units import to_celsius
from tests.factories import make_firing
from tests.firings.logger_files import logger_file

SignedIn = Callable[[Person], Client]
HX = {"HX-Request": "true"}


def at(view: str, *args: Any) -> str:
    return reverse(f"firings:{view}", args=args)


def kept(person: Person, firing: Firing | None = None, **shape: Any) -> RecordingFile:
    firing = firing or make_firing(person, state="opened")
    [file], _ = recording_files_add(firing=firing, by=person, files=[logger_file(firing, **shape)])
    return file


def kept_text(person: Person, text: str) -> RecordingFile:
    firing = make_firing(person, state="opened")
    sent = SimpleUploadedFile("odd.csv", text.encode())
    [file], _ = recording_files_add(firing=firing, by=person, files=[sent])
    return file


def kept_workbook(person: Person, sheets: dict[str, list[list[object]]]) -> RecordingFile:
    book = openpyxl.Workbook()
    for number, (title, rows) in enumerate(sheets.items()):
        sheet = book.create_sheet(title, number)
        for row in rows:
            sheet.append(row)
    del book["Sheet"]
    held = BytesIO()
    book.save(held)
    sent = SimpleUploadedFile("odd.xlsx", held.getvalue())
    firing = make_firing(person, state="opened")
    [file], _ = recording_files_add(firing=firing, by=person, files=[sent])
    return file


@pytest.fixture
def browser(artist: Person, signed_in: SignedIn) -> Client:
    return signed_in(artist)


def shown(browser: Client, file: RecordingFile) -> str:
    answer = browser.get(at("recording_import", file.pk))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_page_shows_rows_chart_and_what_was_guessed(artist: Person, browser: Client) -> None:
    file = kept(artist, header="time,chamber", unit="F")
    page = shown(browser, file)
    first = keyed_curve(file.firing).start
    assert f"{first:.0f} °C" in page
    assert 'class="recorded"' in page
    assert 'class="planned"' in page
    assert "By their range the temperatures are in <strong>°F</strong>" in page
    assert "as found: °F" in page
    assert "readings over" in page  # the chart in a sentence
    assert "Take it" in page


def test_a_choice_is_kept_and_read_anew(artist: Person, browser: Client) -> None:
    file = kept(artist, header="time,chamber")
    answer = browser.post(at("recording_import", file.pk), {"unit": "F", "show": "yes"})
    assert answer.url == at("recording_import", file.pk)
    file.refresh_from_db()
    assert file.choices == {"unit": "F"}
    assert "up to 429 °C" in shown(browser, file)
    assert '<option value="F" selected>' in shown(browser, file)


def test_with_scripts_the_page_answers_with_a_part_of_itself(
    artist: Person, browser: Client
) -> None:
    file = kept(artist)
    answer = browser.post(at("recording_import", file.pk), {"unit": "F"}, headers=HX)
    assert answer.templates[0].name == "firings/_recording_understood.html"
    assert "up to 429 °C" in answer.content.decode()  # 804 °F


@pytest.mark.parametrize(
    ("text", "choice", "code", "finds"),
    [
        (
            "time;kiln °C;second °C\n2026-03-03 18:00:00;20;30\n2026-03-03 18:10:00;40;70\n",
            {"channel": "2"},
            None,
            "Highest</dt><dd>70 °C",
        ),
        (
            "time;°C\n03/04/2026 18:00;20\n03/04/2026 18:10;40\n",
            {"date_order": "month first"},
            "two ways",
            "Wed 4 Mar 2026, 18:00",
        ),
        ("t;°C\n0;20\n1;21\n2;40\n", {"time_unit": "h"}, "plain numbers", "Over</dt><dd>2 h 00"),
        (
            "time;°C\n18:00:00;20\n18:10:00;40\n",
            {"starts_on": "2026-03-05"},
            "names no day",
            "Thu 5 Mar 2026, 18:00",
        ),
        (
            "time;°C\n2026-03-03 18:00:00;20\n2026-03-03 18:10:00;40\n",
            {"time_zone": "Asia/Tokyo"},
            None,
            "Tue 3 Mar 2026, 09:00",
        ),
        (
            "time;°C\n2026-07-03 18:00:00;20\n2026-07-03 18:10:00;40\n",
            {"time_zone": "Etc/GMT-1"},
            None,
            "Fri 3 Jul 2026, 17:00",
        ),
        (
            "taken;sent;°C\n2026-03-03 18:00:00;2026-03-04 09:00:00;20\n"
            "2026-03-03 18:10:00;2026-03-04 09:00:30;40\n",
            {"time_column": "1"},
            "Of 2 columns that may be the time, <strong>taken</strong> was taken. The others: sent",
            "Wed 4 Mar 2026, 09:00",
        ),
        (
            "bought;date;time;°C\n2024-01-15;2026-03-03;18:00:00;20\n"
            "2024-01-15;2026-03-03;18:10:00;40\n",
            {"date_column": "1"},
            None,
            "Tue 3 Mar 2026, 18:00",
        ),
        (
            "time;°C\n0:00;20\n5:00;400\n10:00;60\n",
            {"time_form": "m:ss"},
            "hours and minutes since the start",
            "Over</dt><dd>10 min",
        ),
        (
            "t s;°C\n0;1,020\n60;1,025\n",
            {"decimal": "."},
            "as found: comma",
            "Highest</dt><dd>1025 °C",
        ),
    ],
)
def test_each_guess_can_be_overruled(
    artist: Person,
    browser: Client,
    text: str,
    choice: dict[str, str],
    code: str | None,
    finds: str,
) -> None:
    file = kept_text(artist, text)
    before = shown(browser, file)
    assert finds not in before
    assert code is None or code in before
    browser.post(at("recording_import", file.pk), choice)
    assert finds in shown(browser, file)


def test_the_sheet_of_a_workbook_can_be_chosen(artist: Person, browser: Client) -> None:
    costs: list[list[object]] = [[at, 7.5, 0.31, 2 * at] for at in range(60)]
    readings = [["min", "chamber °C"], *([at, 20 + 10 * at] for at in range(40))]
    file = kept_workbook(artist, {"costs": costs, "kiln log": readings})
    page = shown(browser, file)
    assert "Of 2 sheets, <strong>costs</strong> was read" in page
    assert '<option value="kiln log">' in page
    assert "Columns are parted by" not in page  # a workbook parts its own
    browser.post(at("recording_import", file.pk), {"sheet": "kiln log"})
    assert "Highest</dt><dd>410 °C" in shown(browser, file)


def test_the_sheet_can_be_chosen_though_the_first_guess_can_not_be_read(
    artist: Person, browser: Client
) -> None:
    costs: list[list[object]] = [["rent", 9.0, 7.5, 3.0]] * 60
    readings = [["min", "chamber °C"], *([at, 20 + 10 * at] for at in range(40))]
    file = kept_workbook(artist, {"costs": costs, "kiln log": readings})
    assert "It can’t be read as it is" in shown(browser, file)
    browser.post(at("recording_import", file.pk), {"sheet": "kiln log"})
    assert "Highest</dt><dd>410 °C" in shown(browser, file)


def test_a_workbook_of_one_sheet_asks_for_none(artist: Person, browser: Client) -> None:
    file = kept_workbook(artist, {"log": [["min", "°C"], [0, 20], [1, 30], [2, 40]]})
    assert "Sheet of the workbook" not in shown(browser, file)


@pytest.mark.parametrize("delimiter", ["\t", "|", " "])
def test_a_wrong_delimiter_is_told_and_put_right(
    artist: Person, browser: Client, delimiter: str
) -> None:
    file = kept(artist)
    address = at("recording_import", file.pk)
    browser.post(address, {"delimiter": delimiter})
    assert RecordingFile.objects.get(pk=file.pk).choices == {"delimiter": delimiter}
    page = shown(browser, file)
    assert "It can’t be read as it is" in page
    form = browser.get(address).context["page"].form
    assert "delimiter" in {field.name for field in form.first}
    assert form["delimiter"].value() == delimiter
    browser.post(address, {"delimiter": ","})
    assert "Take it" in shown(browser, file)


def test_what_was_guessed_and_chosen_stands_first(artist: Person, browser: Client) -> None:
    file = kept(artist, header="time,chamber")
    address = at("recording_import", file.pk)

    def first() -> list[str]:
        return [field.name for field in browser.get(address).context["page"].form.first]

    assert first() == ["unit"]
    browser.post(address, {"unit": "F", "time_column": "0"})
    assert first() == ["unit", "time_column"]
    wrong = browser.post(address, {"unit": "F", "time_column": "0", "decimal": "x"})
    form = wrong.context["page"].form
    assert [field.name for field in form.first] == ["unit", "time_column", "decimal"]
    assert {*form.first, *form.rest} == set(form)


def test_columns_are_offered_by_name_or_number(artist: Person, browser: Client) -> None:
    text = "time;;temp;temp\n" + "".join(f"{60 * n};7;{20 + n};{30 + n}\n" for n in range(9))
    file = kept_text(artist, text)
    form = browser.get(at("recording_import", file.pk)).context["page"].form
    words = ["time", "column 2", "temp (column 3)", "temp (column 4)"]
    assert [label for _, label in form.fields["time_column"].choices[1:]] == words
    assert form.fields["time_column"].choices[0][1] == "as found: time"
    unread = kept_text(artist, "nothing here\n" * 5)
    form = browser.get(at("recording_import", unread.pk)).context["page"].form
    assert form.fields["time_column"].choices[3] == (2, "column 3")


def test_a_column_that_the_chosen_sheet_lacks_is_said(artist: Person, browser: Client) -> None:
    file = kept_text(artist, "a;b;c;d\n" + "".join(f"{n};{20 + n};0;9\n" for n in range(9)))
    browser.post(at("recording_import", file.pk), {"time_column": "3"})
    file.refresh_from_db()
    file.original.storage.delete(file.original.name)
    file.original.save("less.csv", SimpleUploadedFile("less.csv", b"a;b\n0;20\n1;21\n"))
    page = shown(browser, file)
    assert "There is no column 4: the table has 2" in page
    assert '<option value="3" selected>column 4</option>' in page


def test_a_choice_that_there_is_not_is_said_and_nothing_is_kept(
    artist: Person, browser: Client
) -> None:
    file = kept(artist)
    page = browser.post(at("recording_import", file.pk), {"unit": "K", "take": "yes"})
    assert page.context["page"].form.errors["unit"]
    file.refresh_from_db()
    assert (file.choices, file.taken_at) == ({}, None)


def test_what_cannot_be_read_names_its_line(artist: Person, browser: Client) -> None:
    text = "time;°C\n" + "".join(
        f"2026-03-03 18:{minute:02d}:00;{20 + minute}\n" for minute in range(20)
    )
    text += "noon;hot\n" * 10
    file = kept_text(artist, text)
    page = shown(browser, file)
    assert "Line 22" in page
    assert "<code>noon;hot</code>" in page
    assert "Take it" not in page
    answer = browser.post(at("recording_import", file.pk), {"take": "yes"})
    assert answer.url == at("recording_import", file.pk)
    assert not RecordingSeries.objects.exists()


def test_a_file_that_is_gone_from_its_folder_is_said(artist: Person, browser: Client) -> None:
    file = kept(artist)
    file.original.storage.delete(file.original.name)
    assert "gone from the studio’s folder" in shown(browser, file)


def test_taking_makes_the_series(artist: Person, browser: Client) -> None:
    file = kept(artist)
    answer = browser.post(at("recording_import", file.pk), {"take": "yes"})
    assert answer.url == at("firing_detail", file.firing_id)
    file.refresh_from_db()
    assert file.taken_by == artist
    series = file.firing.series
    assert series.peak_c == pytest.approx(804.0, abs=1.0)
    assert series.hold_s == pytest.approx(600.0, abs=60.0)
    assert series.started_at == file.firing.started_at.replace(microsecond=0)
    assert "Take it back" in shown(browser, file)


def test_taking_with_another_choice_shows_it_first(artist: Person, browser: Client) -> None:
    file = kept(artist, header="time,chamber")
    told = {"unit": "F", "take": "yes"}
    answer = browser.post(at("recording_import", file.pk), told, follow=True)
    assert "have a look, then take it" in answer.content.decode()
    assert not RecordingSeries.objects.exists()
    browser.post(at("recording_import", file.pk), told)
    assert file.firing.series.peak_c == pytest.approx(float(to_celsius(804.0, "F")), abs=1.0)


def test_taking_leads_on_to_the_file_that_waits(artist: Person, browser: Client) -> None:
    first = kept(artist)
    second = kept(artist, first.firing, every_s=30.0)
    assert "1 more file of this firing waits" in shown(browser, first)
    answer = browser.post(at("recording_import", first.pk), {"take": "yes"})
    assert answer.url == at("recording_import", second.pk)


def test_taking_twice_changes_nothing(artist: Person, browser: Client) -> None:
    file = kept(artist)
    for _ in range(2):
        browser.post(at("recording_import", file.pk), {"take": "yes"})
    taken = RecordingFile.objects.get(pk=file.pk)
    packed = bytes(RecordingSeries.objects.get().packed)
    again = recording_take(file=taken, by=artist)
    assert again is not None
    assert bytes(RecordingSeries.objects.get().packed) == packed
    assert RecordingFile.objects.get(pk=file.pk).taken_at == taken.taken_at


def test_a_taken_file_is_not_read_otherwise(artist: Person, browser: Client) -> None:
    file = kept(artist)
    recording_take(file=file, by=artist)
    answer = browser.post(at("recording_import", file.pk), {"unit": "F"}, follow=True)
    assert "Take it back before you read it otherwise" in answer.content.decode()
    assert RecordingFile.objects.get(pk=file.pk).choices == {}


def test_a_file_is_taken_back_and_stays_kept(artist: Person, browser: Client) -> None:
    file = kept(artist)
    recording_take(file=file, by=artist)
    answer = browser.post(at("recording_take_back", file.pk), follow=True)
    assert "The file itself is kept" in answer.content.decode()
    file.refresh_from_db()
    assert (file.taken_at, file.taken_by) == (None, None)
    assert not RecordingSeries.objects.exists()
    assert file.original.storage.exists(file.original.name)
    assert browser.get(at("recording_take_back", file.pk)).status_code == 405
    assert browser.post(at("recording_take_back", file.pk)).status_code == 302


def test_the_same_file_at_another_firing_is_said(artist: Person, browser: Client) -> None:
    file = kept(artist)
    elsewhere = make_firing(artist, revision=file.firing.revision, state="opened", title="Ebb")
    with file.original.open("rb") as original:
        copy = SimpleUploadedFile("copy.csv", original.read())
    [second], _ = recording_files_add(firing=elsewhere, by=artist, files=[copy])
    assert f'also with <a href="{at("firing_detail", elsewhere.pk)}">' in shown(browser, file)
    assert f'also with <a href="{at("firing_detail", file.firing_id)}">' in shown(browser, second)


def test_times_are_in_the_studios_zone(artist: Person, browser: Client) -> None:
    studio = Studio.current()
    studio.time_zone = "America/New_York"
    studio.save()
    file = kept_text(artist, "time;°C\n2026-03-03 18:00:00;20\n2026-03-03 18:10:00;40\n")
    assert "as found: America/New York" in shown(browser, file)
    browser.post(at("recording_import", file.pk), {"take": "yes"})
    assert file.firing.series.started_at.isoformat() == "2026-03-03T23:00:00+00:00"


def test_only_its_people_look_and_take(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn, outsider: Client
) -> None:
    file = kept(artist)
    address = at("recording_import", file.pk)
    assert signed_in(student).get(address).status_code == 403
    assert signed_in(student).post(address, {"take": "yes"}).status_code == 403
    assert signed_in(student).post(at("recording_take_back", file.pk)).status_code == 403
    assert signed_in(instructor).get(address).status_code == 200
    assert signed_in(instructor).put(address).status_code == 405
    assert signed_in(artist).get(at("recording_import", 999)).status_code == 404
    assert outsider.get(address).url.startswith(reverse("studio:sign_in"))
    assert not RecordingSeries.objects.exists()


def test_a_long_file_is_shown_whole_and_bounded(artist: Person, browser: Client) -> None:
    file = kept(artist, every_s=1.0)
    page = shown(browser, file)
    assert len(page) < 120_000
    count = np.floor(keyed_curve(file.firing).cool_to(80.0)) + 1
    assert f"{int(count):,}" in page
