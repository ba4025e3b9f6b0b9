"""What a person chooses of a file: its sheet, what parts its cells, which columns are the time."""

import datetime as dt
from io import BytesIO

import openpyxl
import pytest

from firings.services.recording import (
    ReadingChoices,
    Recording,
    RecordingError,
    preview_recording,
    read_recording,
    sheets_of,
)
from tests.firings.recordings.writing import FileShape, a_firing, workbook, write

FIRING = a_firing()
DAY = dt.date(2026, 3, 12)


def read(file: bytes | str, **choices) -> Recording:
    raw = file.encode() if isinstance(file, str) else file
    return read_recording(BytesIO(raw), choices=ReadingChoices(**choices))


def codes(recording: Recording) -> set[str]:
    return {remark.code for remark in recording.remarks}


def two_sheets() -> bytes:
    """A first sheet full of numbers that are no firing, and the readings on the second."""
    book = openpyxl.load_workbook(BytesIO(write(FIRING, FileShape(workbook=True))))
    costs = book.create_sheet("costs", 0)
    for at in range(60):
        costs.append([at, 7.5, 0.31, at * 2, 12, 40])
    held = BytesIO()
    book.save(held)
    return held.getvalue()


def test_readings_on_the_second_sheet_are_chosen() -> None:
    file = two_sheets()
    assert "sheet_chosen" in codes(read(file))  # the sheet of costs, which has more numbers
    chosen = read(file, sheet="readings")
    assert chosen.temperatures.tolist() == FIRING.temperatures.tolist()
    assert "sheet_chosen" not in codes(chosen)


def test_sheets_are_named_whether_or_not_a_file_can_be_read() -> None:
    file = two_sheets()
    assert sheets_of(BytesIO(file)) == ("costs", "readings")
    assert preview_recording(BytesIO(file)).sheets == ("costs", "readings")
    assert sheets_of(BytesIO(b"time;kiln")) == ()
    assert sheets_of(BytesIO(file[: len(file) // 2])) == ()
    assert sheets_of(BytesIO(b"")) == ()


def test_delimiter_says_nothing_of_a_workbook() -> None:
    file = write(FIRING, FileShape(workbook=True))
    assert read(file, delimiter=";").temperatures.tolist() == FIRING.temperatures.tolist()


def test_wrong_delimiter_is_told_and_the_right_one_reads() -> None:
    file = write(FIRING, FileShape(delimiter=";", decimal=","))
    for wrong, code in (("|", "columns_not_found"), (",", "not_(found|understood)")):
        with pytest.raises(RecordingError, match=code):
            read(file, delimiter=wrong)
    assert read(file, delimiter=";").temperatures.tolist() == FIRING.temperatures.tolist()


@pytest.mark.parametrize("delimiter", [";;", "x", "", "\n"])
def test_what_parts_no_cells_is_refused(delimiter: str) -> None:
    with pytest.raises(ValueError, match="cells are parted by"):
        ReadingChoices(delimiter=delimiter)


LOGGED_AND_SENT = "Logged;Sent;Chamber °C\n" + "".join(
    f"2026-03-12 17:{at:02}:00;2026-03-13 09:00:{at:02};{20 + at}\n" for at in range(50)
)


def test_of_two_time_columns_one_is_guessed_and_another_can_be_chosen() -> None:
    guessed = read(LOGGED_AND_SENT)
    [remark] = [each for each in guessed.remarks if each.code == "time_column_chosen"]
    assert dict(remark.figures) == {
        "column": 0.0,
        "name": "Logged",
        "columns": 2.0,
        "others": "Sent",
    }
    assert guessed.times[1] == 60.0
    chosen = read(LOGGED_AND_SENT, time_column=1)
    assert (chosen.times[1], chosen.started_at) == (1.0, dt.datetime(2026, 3, 13, 9, 0))
    assert "time_column_chosen" not in codes(chosen)


def test_two_columns_of_elapsed_time_are_said() -> None:
    rows = "\n".join(f"{at},{60 * at},{20 + at}" for at in range(50))
    guessed = read("time min,time s,chamber °C\n" + rows)
    assert "time_column_chosen" in codes(guessed)
    assert (
        guessed.times.tolist()
        == read("time min,time s,chamber °C\n" + rows, time_column=1).times.tolist()
    )


def test_an_index_is_no_time_and_nothing_is_said_of_it() -> None:
    rows = "\n".join(f"{at},{60 * at},{20 + at}" for at in range(50))
    assert "time_column_chosen" not in codes(read("No.,time s,chamber °C\n" + rows))


DATED_TWICE = "Installed;Date;Time;Chamber °C\n" + "".join(
    f"2024-01-15;2026-03-12;17:{at:02}:00;{20 + at}\n" for at in range(50)
)


def test_the_column_of_the_date_can_be_chosen() -> None:
    assert read(DATED_TWICE).started_at == dt.datetime(2024, 1, 15, 17, 0)
    assert read(DATED_TWICE, date_column=1).started_at == dt.datetime(2026, 3, 12, 17, 0)


@pytest.mark.parametrize("column", [2, 3])
def test_a_date_column_that_holds_none_names_its_line(column: int) -> None:
    with pytest.raises(RecordingError, match="not_found, line 2"):
        read(DATED_TWICE, date_column=column)


def test_days_and_times_in_cells_of_their_own_kinds() -> None:
    rows = [[DAY, dt.time(17, at), 20 + at] for at in range(50)]
    seen = read(workbook([["Date", "Time", "Chamber °C"], *rows]))
    assert seen.started_at == dt.datetime(2026, 3, 12, 17, 0)
    assert seen.times[:3].tolist() == [0.0, 60.0, 120.0]


def test_a_date_column_with_midnights_is_taken_beside_a_full_time() -> None:
    lines = "".join(f"12.03.2026 0:00:00;17:{at:02}:00;{20 + at}\n" for at in range(50))
    assert read("Day;Time;°C\n" + lines).started_at == dt.datetime(2026, 3, 12, 17, 0)


BY_COLONS = "time;Chamber °C\n" + "".join(f"0:{at:02};{20 + 13 * at}\n" for at in range(60))


@pytest.mark.parametrize(("form", "step"), [("h:mm", 60.0), ("m:ss", 1.0), ("time of day", 60.0)])
def test_what_times_with_colons_are_can_be_chosen(form, step: float) -> None:
    guessed = read(BY_COLONS)
    assert {"time_form_guessed", "elapsed_time_assumed"} <= codes(guessed)
    chosen = read(BY_COLONS, time_form=form)
    assert chosen.times[1] == step
    assert not {"time_form_guessed", "elapsed_time_assumed"} & codes(chosen)


def test_minutes_and_seconds_say_nothing_of_times_written_in_full() -> None:
    full = BY_COLONS.replace(";", ":00;").replace("time:00", "time")
    assert read(full, time_form="m:ss").times[1] == 60.0


def test_a_time_of_day_is_taken_on_the_chosen_day() -> None:
    chosen = read(BY_COLONS, time_form="time of day", starts_on=DAY)
    assert chosen.started_at == dt.datetime(2026, 3, 12, 0, 0)


def test_time_since_the_start_leaves_a_column_of_dates_out() -> None:
    lines = "".join(f"2026-03-12;0:{at:02}:00;{20 + at}\n" for at in range(50))
    assert read("Printed;Time;°C\n" + lines).started_at == dt.datetime(2026, 3, 12, 0, 0)
    chosen = read("Printed;Time;°C\n" + lines, time_form="h:mm")
    assert (chosen.started_at, chosen.times[1]) == (None, 60.0)


@pytest.mark.parametrize(
    ("lines", "form"),
    [("17:00;20\n17:01;21\n17:02;22\n", "time of day"), ("0:00:00;20\n0:01:00;21\n", "h:mm")],
)
def test_a_preview_says_what_times_with_colons_were_taken_for(lines: str, form: str) -> None:
    seen = preview_recording(BytesIO(f"time;chamber °C\n{lines}".encode()))
    assert seen.choices.time_form == form
