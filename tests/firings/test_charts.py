from datetime import UTC, datetime, timedelta

import pytest

from firings.actions.spot_readings import spot_reading_add
from firings.charts import FiringChart, firing_chart, peak_drawing
from firings.core_inputs import comparison_of, keyed_curve, recording_of
from firings.models import Firing, FiringEvent, Photograph
from firings.queries import recorded as recorded_queries
from studio.formats import plain
from studio.models import Person
from tests.factories import make_firing
from tests.firings.logger_files import recorded

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def chart_of(firing: Firing, unit: str = "C") -> FiringChart:
    curve, recording = keyed_curve(firing), recording_of(firing)
    return firing_chart(firing, curve, recording, comparison_of(firing, curve, recording), unit)


def test_a_noted_peak_stands_where_the_plan_had_the_top(artist: Person) -> None:
    firing = make_firing(artist, state="firing", started_at=START, recorded_peak_c=801.0)

    chart = chart_of(firing)

    top = keyed_curve(firing).spans[2]
    assert chart.readings.times.tolist() == [top.hold_start]
    assert chart.readings.temperatures.tolist() == [801.0]
    assert all(not drawing.recorded for drawing in chart.drawings)


def test_without_a_peak_only_the_plan_is_drawn(artist: Person) -> None:
    chart = chart_of(make_firing(artist))

    assert chart.readings is None
    assert {drawing.name for drawing in chart.drawings} == {"desk", "phone"}
    assert chart.starts_at is None


def test_the_annealing_range_is_the_familys(artist: Person) -> None:
    [band] = chart_of(make_firing(artist)).bands

    assert (band.kind, band.low, band.high) == ("anneal", 493.0, 532.0)


def test_a_figure_is_in_the_readers_unit(artist: Person) -> None:
    firing = make_firing(artist, state="firing", started_at=START, recorded_peak_c=800.0)

    figure = chart_of(firing, "F").figure

    readings = next(trace for trace in figure["data"] if trace["meta"] == "readings")
    assert readings["y"] == [1472.0]


def test_peak_differences_run_from_the_earliest_to_the_latest() -> None:
    drawing = peak_drawing([2.0, 0.0, -3.0], "C")

    xs, ys = zip(*((point.x, point.y) for point in drawing.points), strict=True)
    zero = next(tick.at for tick in drawing.ticks if tick.is_zero)
    assert list(xs) == sorted(xs)
    assert ys[0] > zero > ys[2]
    assert ys[1] == zero


@pytest.mark.parametrize("values", [[0.0], [1.0] * 20, [-60.0, 4.0], [0.2]])
def test_every_dot_lies_on_the_paper(values: list[float]) -> None:
    drawing = peak_drawing(values, "C")

    assert all(drawing.left <= point.x <= drawing.right for point in drawing.points)
    assert all(4 <= point.y <= drawing.height - 4 for point in drawing.points)


def test_ticks_are_differences_in_fahrenheit() -> None:
    assert [plain(tick.label) for tick in peak_drawing([1.0], "F").ticks] == [
        "+9 °F",
        "0 °F",
        "−9 °F",
    ]


def recorded_firing(artist: Person, **shape: object) -> Firing:
    firing = make_firing(
        artist, state="opened", started_at=START, opened_at=START + timedelta(hours=30)
    )
    recorded(firing, by=artist, **shape)
    return Firing.objects.get(pk=firing.pk)


def test_recorded_is_a_solid_line_over_the_plan(artist: Person) -> None:
    chart = chart_of(recorded_firing(artist))

    assert chart.recorded.times[0] == 0.0
    assert chart.recorded.temperatures.max() == pytest.approx(804.0, abs=0.1)
    assert chart.readings is None
    assert all(drawing.recorded and drawing.planned for drawing in chart.drawings)
    assert [stretch.label for stretch in chart.stretches] == ["1", "2", "3", "4", "5"]


def test_a_logger_that_began_earlier_moves_the_left_edge(artist: Person) -> None:
    chart = chart_of(recorded_firing(artist, clock=START - timedelta(minutes=20)))

    assert chart.starts_at == START - timedelta(minutes=20)
    assert chart.recorded.times[0] == 0.0
    assert chart.planned.times[0] == 1200.0


def test_a_clock_of_another_day_is_laid_beside_the_start(artist: Person) -> None:
    firing = recorded_firing(artist, clock=START - timedelta(days=400))

    chart = chart_of(firing)
    page = recorded_queries.recorded_firing(firing.pk).recorded

    assert chart.starts_at == START
    assert chart.recorded.times[0] == 0.0
    assert page.clock_off == START - timedelta(days=400)
    assert page.starts_at == START


def test_what_happened_on_the_way_stands_on_the_line(artist: Person) -> None:
    firing = recorded_firing(artist)
    FiringEvent.objects.create(
        firing=firing, kind="vented", happened_at=START + timedelta(hours=2), noted_by=artist
    )
    spot_reading_add(
        firing=firing,
        by=artist,
        at=START + timedelta(hours=3),
        temperature_c=470.0,
        note="still clear",
    )
    for minutes in (-5, 60, 60 * 31):  # before the start, while it fired, after it was opened
        Photograph.objects.create(
            firing=firing,
            width=4,
            height=3,
            digest=str(minutes),
            taken_by=artist,
            added_at=START + timedelta(minutes=minutes),
        )

    chart = chart_of(firing)

    assert [moment.words for moment in chart.moments] == [
        "19:00 photograph",
        "20:00 vented",
        "21:00 still clear",
    ]
    assert chart.moments[1].temperature == pytest.approx(320.0, abs=2.0)
    trace = next(trace for trace in chart.figure["data"] if trace["meta"] == "moments")
    assert trace["customdata"][1] == "2 h 00: 20:00 vented"
    assert all(len(drawing.moments) == 3 for drawing in chart.drawings)


def test_a_closer_look_shows_what_thinning_left_out(artist: Person) -> None:
    firing = recorded_firing(artist, every_s=2.0)
    chart = chart_of(firing)
    whole = next(trace for trace in chart.figure["data"] if trace["meta"] == "recorded")

    close = chart.detail(7200.0, 8400.0)

    assert len(whole["x"]) <= 2002
    inside = [x for x in close["x"] if "2026-03-03 20:00:00" <= x <= "2026-03-03 20:20:00"]
    assert len(inside) == 601
    assert len(close["x"]) == len(close["y"]) == len(close["customdata"]) < 1200
    assert close["x"][0] == whole["x"][0]
