from datetime import UTC, datetime

import pytest

from firings.charts import FiringChart, firing_chart, peak_drawing
from firings.core_inputs import comparison_of, keyed_curve, recording_of
from firings.models import Firing
from studio.models import Person
from tests.factories import make_firing

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
    assert [tick.label for tick in peak_drawing([1.0], "F").ticks] == ["+9 °F", "0 °F", "−9 °F"]
