"""Units, channels and decimal signs that a file does not name, or names somewhere else."""

from io import BytesIO

import numpy as np
import pytest

from firings.services.recording import ReadingChoices, RecordingError, read_recording
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse
from studio.services.units import to_celsius
from tests.firings.recordings.writing import FileShape, a_firing, write

KILN = KilnResponse(1100.0, 7200.0, 10800.0)


def read(text: str, **given):
    return read_recording(BytesIO(text.encode()), **given)


def series(first: float, last: float, count: int = 200) -> str:
    rows = np.linspace(first, last, count)
    return "\n".join(f"{30 * at},{value:.1f}" for at, value in enumerate(rows))


@pytest.mark.parametrize(
    ("first", "last", "celsius"),
    [
        (20.0, 804.0, 804.0),
        (68.0, 1480.0, 804.4444),
        (24.0, 950.0, 950.0),  # a hot casting, not a slump in °F
        (72.0, 950.0, 510.0),  # bead annealing in °F
        (75.0, 1250.0, 676.6667),
        (8.0, 480.0, 480.0),
        (18.0, 1250.0, 1250.0),
        (200.0, 1490.0, 810.0),  # it was still warm
    ],
)
def test_unit_is_told_from_where_it_begins_and_how_far_it_goes(
    first: float, last: float, celsius: float
) -> None:
    seen = read("elapsed s,chamber\n" + series(first, last))
    assert seen.temperatures[-1] == pytest.approx(celsius, abs=1e-3)
    assert "unit_guessed" in {remark.code for remark in seen.remarks}


@pytest.mark.parametrize(("target", "celsius"), [(930.0, 930.0), (499.0, 498.8889)])
def test_plan_tells_the_unit_where_the_readings_do_not(target: float, celsius: float) -> None:
    plan = planned_curve([Segment(300.0, target, 600.0)], KILN)
    seen = read("elapsed s,chamber\n" + series(150.0, 930.0), plan=plan)
    assert seen.temperatures[-1] == pytest.approx(celsius, abs=1e-3)


def test_chosen_unit_wins_over_the_name_and_it_is_said() -> None:
    seen = read("elapsed s,chamber °C\n" + series(68.0, 1500.0), unit="F")
    assert seen.temperatures[0] == pytest.approx(20.0)
    assert "unit_overruled" in {remark.code for remark in seen.remarks}


def test_cells_of_both_units_are_each_read_in_their_own() -> None:
    lines = [f"{30 * at},{20 + at} °C" for at in range(50)]
    lines += [f"{30 * at},{(20 + at) * 1.8 + 32:.1f} °F" for at in range(50, 80)]
    seen = read("elapsed s,chamber\n" + "\n".join(lines))
    assert seen.temperatures == pytest.approx(np.arange(20.0, 100.0))
    assert "units_mixed" in {remark.code for remark in seen.remarks}


@pytest.mark.parametrize(
    ("name", "celsius"),
    [
        ("Temp (°F)", False),
        ("kiln_f", False),
        ("Kiln temperature [degF]", False),
        ("Fahrenheit", False),
        ("TC1 °C", True),
        ("chamber/C", True),
        ("Temp. Celsius", True),
        ("chamber C", True),
        ("chamber F", False),
        ("temp C", True),
        ("T1 (C)", True),
        ("T1 F", False),
        ("deg C", True),
        ("degF", False),
        ("F", False),
    ],
)
def test_unit_in_the_name_of_the_column(name: str, celsius: bool) -> None:
    seen = read(f"elapsed s,{name}\n" + series(100.0, 1000.0))
    assert seen.temperatures[-1] == pytest.approx(1000.0 if celsius else 537.7778, abs=1e-3)
    assert "unit_guessed" not in {remark.code for remark in seen.remarks}


@pytest.mark.parametrize("name", ["kiln C", "zone C", "probe F", "channel C", "type C"])
def test_a_letter_that_may_be_the_name_of_a_thing_is_no_unit(name: str) -> None:
    seen = read(f"elapsed s,{name}\n" + series(68.0, 1480.0))
    assert seen.temperatures[-1] == pytest.approx(804.4444, abs=1e-3)
    assert "unit_guessed" in {remark.code for remark in seen.remarks}


@pytest.mark.parametrize("names", ["A,B,C", "chamber A,chamber B,chamber C", "t_a,t_b,t_c"])
def test_a_letter_beside_its_neighbours_is_no_unit(names: str) -> None:
    rows = "\n".join(f"{30 * at},{70 + at % 3},{72 + at % 2},{68 + 7.1 * at}" for at in range(200))
    seen = read(f"elapsed s,{names}\n{rows}")
    assert seen.temperatures[-1] == pytest.approx(float(to_celsius(68 + 7.1 * 199, "F")))
    assert "unit_guessed" in {remark.code for remark in seen.remarks}


def test_two_columns_of_both_units_are_units_though_single_letters() -> None:
    rows = "\n".join(f"{30 * at},{200 + at},{392 + 1.8 * at:.1f}" for at in range(50))
    seen = read(f"elapsed s,C,F\n{rows}")
    assert seen.temperatures[-1] == pytest.approx(249.0)
    assert "unit_guessed" not in {remark.code for remark in seen.remarks}


def test_a_bare_letter_in_the_row_of_units_is_one() -> None:
    seen = read("Time;Kiln\nmin;F\n0;170\n1;175\n2;180\n3;190\n")
    assert seen.temperatures[0] == pytest.approx(76.6667, abs=1e-3)
    assert "unit_guessed" not in {remark.code for remark in seen.remarks}


def test_row_of_units_below_the_names() -> None:
    seen = read("Time;Chamber\nmin;°F\n0;70\n1;75\n2;80\n3;90\n")
    assert seen.times.tolist() == [0.0, 60.0, 120.0, 180.0]
    assert seen.temperatures[0] == pytest.approx(21.1111, abs=1e-3)


@pytest.mark.parametrize(
    ("rows", "values"),
    [
        (["999,5", "1.003,5", "1.010,0"], [999.5, 1003.5, 1010.0]),
        (["999.5", "1,003.5", "1,010.0"], [999.5, 1003.5, 1010.0]),
        (["999", "1,003", "1,010"], [999.0, 1003.0, 1010.0]),
        (["20,125", "21,250", "22,375"], [20.125, 21.25, 22.375]),
        (["2.05e1", "2.15E+01", "2.25e1"], [20.5, 21.5, 22.5]),
        ([" 20.5 ", "+21.5", "22.5 C"], [20.5, 21.5, 22.5]),
    ],
)
def test_signs_of_decimals_and_thousands(rows: list[str], values: list[float]) -> None:
    lines = [f"{at * 60};{row}" for at, row in enumerate(rows)]
    seen = read("elapsed s;chamber °C\n" + "\n".join(lines))
    assert seen.temperatures.tolist() == pytest.approx(values)


def test_decimals_parted_by_a_comma_of_the_table_are_not_guessed_at() -> None:
    rows = "\n".join(f"2026-03-12 17:{at:02}:00,{500 + at},{at % 10}" for at in range(30))
    with pytest.raises(RecordingError, match="more_cells_than_names, line 2"):
        read("time,chamber °C\n" + rows)


@pytest.mark.parametrize(
    ("names", "column"),
    [
        ("time,setpoint °C,chamber °C,room °C", 2),
        ("time,SP,PV,CJC", 2),
        ("time,room,kiln,setpoint", 2),
        ("time,,,", 1),
    ],
)
def test_channel_of_the_chamber(names: str, column: int) -> None:
    heat = np.round(np.linspace(20.0, 804.0, 200) + np.sin(np.arange(200.0)), 1)
    places = {column: heat}
    for other in {1, 2, 3} - {column}:
        places[other] = 20.0 + np.arange(200) % 3
    lines = [
        f"{60 * at},{places[1][at]:.1f},{places[2][at]:.1f},{places[3][at]:.1f}"
        for at in range(200)
    ]
    seen = read(f"{names}\n" + "\n".join(lines), choices=ReadingChoices(time_unit="s"))
    assert seen.temperatures == pytest.approx(heat)


def test_choices_win_over_every_guess() -> None:
    file = write(a_firing(), FileShape(others=True, time="elapsed s", names=False, delimiter=","))
    chosen = ReadingChoices(channel=1, time_unit="min")
    seen = read_recording(BytesIO(file), choices=chosen)
    assert seen.times[1] == 3600.0
    assert np.all(seen.temperatures % 10.0 == 0.0)
    assert {remark.code for remark in seen.remarks} == {"unit_guessed", "no_date"}


@pytest.mark.parametrize(
    ("choices", "code"),
    [
        (ReadingChoices(channel=9), "column_missing"),
        (ReadingChoices(time_column=7), "column_missing"),
        (ReadingChoices(channel=0), "temperature_not_found"),
    ],
)
def test_choice_that_the_file_does_not_have(choices: ReadingChoices, code: str) -> None:
    with pytest.raises(RecordingError, match=code):
        read_recording(BytesIO(write(a_firing(), FileShape())), choices=choices)


@pytest.mark.parametrize(
    "choices", [{"decimal": ";"}, {"channel": -1}, {"time_column": -2}, {"date_column": -1}]
)
def test_choices_that_are_none(choices) -> None:
    with pytest.raises(ValueError, match=r"decimal sign|counted from 0"):
        ReadingChoices(**choices)


def test_other_units_and_zones_are_refused() -> None:
    file = write(a_firing(), FileShape())
    with pytest.raises(ValueError, match="C or F"):
        read_recording(BytesIO(file), unit="K")  # type: ignore[arg-type]
    with pytest.raises(KeyError, match="Atlantis"):
        read_recording(BytesIO(file), timezone="Ocean/Atlantis")
