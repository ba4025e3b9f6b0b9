import datetime as dt
from io import BytesIO

import numpy as np
import pytest

from firings.services.recording import (
    ReadingChoices,
    RecordingError,
    preview_recording,
    read_recording,
)
from tests.firings.recordings.writing import START, ZONE, FileShape, a_firing, workbook, write

FIRING = a_firing()


def test_first_rows_stand_beside_what_was_understood() -> None:
    shape = FileShape(date="dotted", columns=2, decimal=",", notes=["Logger 2"])
    seen = preview_recording(BytesIO(write(FIRING, shape)), timezone=ZONE)
    first = seen.rows[0]
    assert (first.line, first.cells[:2]) == (3, ("12.03.2026", "17:40:05"))
    assert first.moment == START.replace(tzinfo=ZONE)
    assert first.temperature == FIRING.temperatures[0]
    assert seen.rows[11].seconds == 660.0
    assert seen.names == ("Date", "Time", "Chamber °C")
    assert (seen.unit, seen.whole) == ("C", True)


def test_row_that_holds_no_reading_shows_its_cells() -> None:
    file = b"elapsed s,chamber C\n0,20\n30,OPEN\n60,lid open?,\n90,25\n120,27\n150,30\n180,33\n"
    seen = preview_recording(BytesIO(file))
    assert [row.seconds for row in seen.rows] == [0.0, None, None, 90.0, 120.0, 150.0, 180.0]
    assert seen.rows[1].cells == ("30", "OPEN")


def test_choices_of_a_preview_read_the_file_the_same() -> None:
    shape = FileShape(others=True, date="day first", decimal=",", unit="F", unit_at="nowhere")
    file = write(a_firing(), shape)
    seen = preview_recording(BytesIO(file), timezone=ZONE)
    again = read_recording(BytesIO(file), seen.unit, ZONE, choices=seen.choices)
    assert again.times.tolist() == seen.recording.times.tolist()
    assert again.temperatures.tolist() == seen.recording.temperatures.tolist()
    assert again.remarks == ()


def test_all_channels_are_shown_to_choose_from() -> None:
    seen = preview_recording(BytesIO(write(FIRING, FileShape(others=True))))
    assert [channel.column for channel in seen.channels] == [1, 2, 3, 4]
    assert seen.choices.channel == 2
    chamber = seen.channels[1]
    assert (chamber.name, chamber.unit) == ("Chamber °C", "C")
    assert chamber.highest == FIRING.temperatures.max()


def test_long_file_is_read_as_far_as_asked() -> None:
    seen = preview_recording(BytesIO(write(FIRING, FileShape())), timezone=ZONE, most_lines=101)
    assert (seen.whole, seen.recording.times.size) == (False, 100)
    rows = [["time", "°C"], *([f"0:{at:02}:00", at] for at in range(60))]
    book = preview_recording(BytesIO(workbook(rows)), most_lines=31)
    assert (book.whole, book.recording.times.size) == (False, 30)


def test_day_can_be_chosen_where_the_file_has_none() -> None:
    file = write(FIRING, FileShape(time="clock"))
    chosen = ReadingChoices(starts_on=dt.date(2026, 3, 12))
    seen = preview_recording(BytesIO(file), timezone=ZONE, choices=chosen)
    assert seen.recording.started_at == START.replace(tzinfo=ZONE)
    assert seen.choices.starts_on == dt.date(2026, 3, 12)


def test_sheet_with_the_readings_is_found_and_can_be_chosen() -> None:
    import openpyxl

    book = openpyxl.load_workbook(BytesIO(write(FIRING, FileShape(workbook=True))))
    facts = book.create_sheet("facts", 0)
    facts.append(["studio", "Millrace Glass Studio"])
    held = BytesIO()
    book.save(held)
    seen = preview_recording(held, timezone=ZONE)
    assert seen.choices.sheet == "readings"
    assert "sheet_chosen" in {remark.code for remark in seen.recording.remarks}
    for sheet, code in (("facts", "not_found"), ("nowhere", "sheet_missing")):
        with pytest.raises(RecordingError, match=code):
            read_recording(held, choices=ReadingChoices(sheet=sheet))


def test_line_breaks_at_gaps() -> None:
    file = b"elapsed s,chamber C\n0,20\n30,21\n60,22\n3600,80\n3630,81\n"
    times, temperatures = read_recording(BytesIO(file)).broken_at_gaps()
    assert times.tolist() == [0.0, 30.0, 60.0, 1830.0, 3600.0, 3630.0]
    assert np.isnan(temperatures[3])
