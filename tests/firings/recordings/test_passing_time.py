"""Times that go back, repeat, jump or stop: the series is never folded and never stretched."""

import datetime as dt
from collections.abc import Sequence
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest

from firings.services.recording import Recording, RecordingError, read_recording
from tests.firings.recordings.writing import FileShape, Series, a_firing, write

BERLIN = ZoneInfo("Europe/Berlin")


def read(
    lines: Sequence[str], head: str = "time;temp °C", zone: dt.tzinfo | None = BERLIN
) -> Recording:
    return read_recording(BytesIO("\n".join([head, *lines]).encode()), timezone=zone)


def codes(recording: Recording) -> set[str]:
    return {remark.code for remark in recording.remarks}


def clock_lines(moments: Sequence[str], first: float = 700.0, step: float = -0.5) -> list[str]:
    return [f"{moment};{first + step * at}" for at, moment in enumerate(moments)]


def test_midnight_without_a_date_is_the_next_day() -> None:
    seen = read(clock_lines(["23:59:00", "23:59:30", "00:00:00", "00:00:30"]))
    assert seen.times.tolist() == [0.0, 30.0, 60.0, 90.0]
    assert "midnight_passed" in codes(seen)
    assert seen.gaps == ()


def test_power_cut_across_midnight_is_a_gap_of_its_length() -> None:
    before = [f"23:{minute:02}:00" for minute in range(20, 50)]
    after = [f"00:{minute:02}:00" for minute in range(30, 59)]
    seen = read(clock_lines(before + after))
    assert seen.times[29:31].tolist() == [29 * 60.0, 70 * 60.0]
    assert seen.gaps == ((29 * 60.0, 70 * 60.0),)


def test_two_midnights_are_two_days() -> None:
    hours = [*range(20, 24), *range(24), *range(5)]
    seen = read(clock_lines([f"{hour:02}:00" for hour in hours], step=-10))
    assert seen.times.tolist() == [3600.0 * at for at in range(len(hours))]


@pytest.mark.parametrize("zone", [BERLIN, None])
def test_clock_set_back_in_autumn_does_not_fold(zone: ZoneInfo | None) -> None:
    minutes = [f"2026-10-25 02:{minute:02}:00" for minute in range(60)]
    seen = read(clock_lines([*minutes, *minutes, "2026-10-25 03:00:00"]), zone=zone)
    assert seen.times.tolist() == [60.0 * at for at in range(121)]
    assert "clock_set_back" in codes(seen)
    assert seen.gaps == ()


def test_clock_set_back_without_a_date_does_not_fold() -> None:
    minutes = [f"02:{minute:02}" for minute in range(60)]
    seen = read(clock_lines([*minutes, *minutes, "03:00"]))
    assert seen.times.tolist() == [60.0 * at for at in range(121)]


def test_clock_set_forward_in_spring_leaves_no_gap() -> None:
    moments = [f"2026-03-29 01:{minute:02}:00" for minute in range(60)]
    moments += [f"2026-03-29 03:{minute:02}:00" for minute in range(60)]
    seen = read(clock_lines(moments))
    assert seen.times.tolist() == [60.0 * at for at in range(120)]
    assert seen.started_at == dt.datetime(2026, 3, 29, 0, 0, tzinfo=dt.UTC)


@pytest.mark.parametrize("day", ["2026-03-29", "2026-10-25"])
def test_logger_that_knows_no_summer_time_goes_straight_on(day: str) -> None:
    moments = [f"{day} {hour:02}:{minute:02}:00" for hour in range(1, 5) for minute in range(60)]
    seen = read(clock_lines(moments))
    assert seen.times.tolist() == [60.0 * at for at in range(240)]
    assert "clock_not_changed" in codes(seen)


def test_power_cut_over_the_doubled_hour_says_what_was_assumed() -> None:
    moments = [f"2026-10-25 02:{minute:02}:00" for minute in range(10, 30)]
    moments += [f"2026-10-25 05:{minute:02}:00" for minute in range(20)]
    seen = read(clock_lines(moments))
    assert "hour_twice_assumed" in codes(seen)
    assert seen.gaps == ((19 * 60.0, (19 + 60 * 3 + 31) * 60.0),)


def test_logger_whose_count_begins_anew_goes_on_after_a_gap() -> None:
    first = [f"{at};{700 - at / 100}" for at in range(0, 3000, 30)]
    second = [f"{at};{500 - at / 100}" for at in range(0, 3000, 30)]
    seen = read(first + second, head="elapsed s;temp °C")
    assert seen.times.size == 200
    assert seen.times[-1] == 199 * 30.0
    assert seen.gaps == ((2970.0, 3000.0),)
    assert "clock_restarted" in codes(seen)


def test_clock_that_forgot_the_date_goes_on_after_a_gap() -> None:
    first = [f"2026-03-12 17:{minute:02}:00" for minute in range(30)]
    second = [f"2000-01-01 00:{minute:02}:00" for minute in range(30)]
    seen = read(clock_lines(first + second))
    assert seen.times.tolist() == [60.0 * at for at in range(60)]
    assert seen.gaps == ((29 * 60.0, 30 * 60.0),)
    assert seen.started_at == dt.datetime(2026, 3, 12, 16, 0, tzinfo=dt.UTC)


def test_readings_out_of_turn_are_put_in_order() -> None:
    lines = [f"{at};{20 + at}" for at in (0, 30, 90, 60, 120, 150)]
    seen = read(lines, head="elapsed s;temp °C")
    assert seen.times.tolist() == [0.0, 30.0, 60.0, 90.0, 120.0, 150.0]
    assert seen.temperatures.tolist() == [20.0, 50.0, 80.0, 110.0, 140.0, 170.0]
    assert "times_out_of_order" in codes(seen)


def test_repeated_time_keeps_its_first_reading() -> None:
    lines = [f"{at};{value}" for at, value in ((0, 20), (30, 25), (30, 25), (60, 30), (90, 35))]
    seen = read(lines, head="elapsed s;temp °C")
    assert seen.times.tolist() == [0.0, 30.0, 60.0, 90.0]
    assert "times_repeated" in codes(seen)


def test_times_without_seconds_are_spread_over_the_minute() -> None:
    moments = [f"2026-03-12 {17 + at // 240:02}:{at // 4 % 60:02}" for at in range(2, 400)]
    seen = read(clock_lines(moments))
    assert seen.times.tolist() == pytest.approx([15.0 * at for at in range(398)])
    assert "times_spread" in codes(seen)


def test_one_wild_time_is_left_out() -> None:
    moments = [f"2026-03-12 17:{minute:02}:00" for minute in range(30)]
    moments[10] = "2036-03-12 17:10:00"
    moments[20] = "1996-03-12 17:20:00"
    seen = read(clock_lines(moments))
    assert seen.times.size == 28
    assert seen.times[-1] == 29 * 60.0
    assert "times_unlikely" in codes(seen)


def test_silence_is_a_gap_and_a_missed_reading_is_none() -> None:
    moments = [*range(0, 600, 30), *range(660, 1200, 30), *range(3600, 4200, 30)]
    seen = read([f"{at};500" for at in moments], head="elapsed s;temp °C")
    assert seen.gaps == ((1170.0, 3600.0),)


@pytest.mark.parametrize("word", ["NaN", "OPEN", "9999", "-200", "", "----", "1372.0", "#N/A", "0"])
def test_thermocouple_break_is_no_reading(word: str) -> None:
    lines = [f"{at};{700 + at / 100}" for at in range(0, 6000, 30)]
    lines[50:80] = [f"{at};{word}" for at in range(1500, 2400, 30)]
    seen = read(lines, head="elapsed s;temp °C")
    assert seen.times.size == 170
    assert seen.temperatures.min() == 700.0
    assert seen.temperatures.max() == pytest.approx(759.7)
    assert seen.gaps == ((1470.0, 2400.0),)
    [remark] = [each for each in seen.remarks if each.code == "thermocouple_breaks"]
    assert remark.figures == {"count": 30.0, "line": 52.0}


def test_words_between_the_readings_are_dropped_and_said() -> None:
    lines = [f"{at};{20 + at}" for at in range(0, 300, 30)]
    lines.insert(4, "power restored;")
    seen = read(lines, head="elapsed s;temp °C")
    assert seen.times.size == 10
    [remark] = [each for each in seen.remarks if each.code == "lines_dropped"]
    assert (remark.figures["count"], remark.figures["line"]) == (1.0, 6.0)
    assert remark.figures["text"] == "power restored;"


def test_line_cut_off_by_a_power_failure_is_dropped() -> None:
    lines = [f"2026-03-12 17:{minute:02}:00;{500 + minute}" for minute in range(30)]
    lines.insert(12, "2026-03-12 17:1" + "\0" * 200)
    assert read(lines).times.size == 30


def test_file_of_words_names_the_line() -> None:
    lines = [f"{at};{20 + at}" for at in range(0, 600, 30)] + ["noon;hot"] * 10
    with pytest.raises(RecordingError, match="time_not_understood, line 22: 'noon;hot'"):
        read(lines, head="elapsed s;temp °C")


def test_day_and_month_are_told_from_the_sequence() -> None:
    series = a_firing()
    shape = FileShape(date="day first")
    crossing = Series(series.times, series.temperatures, dt.datetime(2026, 4, 3, 20, 0))
    seen = read_recording(BytesIO(write(crossing, shape)), timezone="Europe/Lisbon")
    assert seen.started_at == dt.datetime(2026, 4, 3, 19, 0, tzinfo=dt.UTC)
    assert "date_order_from_sequence" in codes(seen)


@pytest.mark.parametrize(("clock", "month"), [("24 h", 4), ("12 h", 3)])
def test_day_and_month_of_a_single_day_are_assumed_and_said(clock: str, month: int) -> None:
    date = "day first" if clock == "24 h" else "month first"
    start = dt.datetime(2026, 4, 3, 8, 0) if clock == "24 h" else dt.datetime(2026, 3, 4, 8, 0)
    series = a_firing(hours=6.0)
    within = Series(series.times, series.temperatures, start)
    seen = read_recording(
        BytesIO(write(within, FileShape(date=date, clock=clock))), timezone="Europe/Lisbon"
    )
    assert seen.started_at is not None
    assert seen.started_at.month == month
    assert "date_order_assumed" in codes(seen)


def test_day_above_the_table_dates_the_times() -> None:
    notes = ["# exported 2026-04-01", "# recorded on 2026-03-12"]
    seen = read_recording(
        BytesIO(write(a_firing(), FileShape(time="clock", notes=notes))), timezone="Europe/Lisbon"
    )
    assert seen.started_at == dt.datetime(2026, 3, 12, 17, 40, 5, tzinfo=dt.UTC)
    assert "date_from_notes" in codes(seen)


def test_start_above_the_table_dates_elapsed_times() -> None:
    notes = ["Start: 2026-03-12 17:40:05"]
    seen = read_recording(
        BytesIO(write(a_firing(), FileShape(time="elapsed s", notes=notes))),
        timezone="Europe/Lisbon",
    )
    assert seen.started_at == dt.datetime(2026, 3, 12, 17, 40, 5, tzinfo=dt.UTC)


def test_without_a_zone_the_start_has_none_and_it_is_said() -> None:
    seen = read_recording(BytesIO(write(a_firing(), FileShape())))
    assert seen.started_at == dt.datetime(2026, 3, 12, 17, 40, 5)
    assert codes(seen) == {"no_zone"}
