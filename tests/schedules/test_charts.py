import json
import re
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from schedules.charts import (
    Line,
    Moment,
    TemperatureBand,
    curve_drawings,
    planned_line,
)
from schedules.figures import TimeBand, detail, plotly_figure
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1200.0, 3600.0, 3 * 3600.0)
FUSE = [Segment(200.0, 800.0, 600.0), Segment(None, 480.0, 3600.0)]
PLAN = planned_line(planned_curve(FUSE, KILN), cooled_to=60.0)
BAND = TemperatureBand("anneal", "annealing range", 480.0, 530.0)


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path)]


def test_line_goes_on_to_where_the_kiln_is_cool() -> None:
    curve = planned_curve(FUSE, KILN)
    assert PLAN.times[-1] == pytest.approx(curve.cool_to(60.0))
    assert PLAN.temperatures[-1] == pytest.approx(60.0, abs=1e-6)
    assert np.all(np.diff(PLAN.times) > 0)


def test_line_of_an_unreached_target_ends_where_the_curve_does() -> None:
    curve = planned_curve([Segment(None, 1300.0)], KILN)
    line = planned_line(curve, cooled_to=60.0)
    assert curve.unreached == 0
    assert line.times[-1] == curve.times[-1]


def test_drawing_for_desk_and_phone_stays_on_its_paper() -> None:
    desk, phone = curve_drawings(unit="C", planned=PLAN, bands=[BAND])
    assert (desk.name, phone.name) == ("desk", "phone")
    for drawing in (desk, phone):
        drawn = points(drawing.planned)
        assert drawn[0][0] == drawing.left
        assert drawn[-1][0] == pytest.approx(drawing.right, abs=0.1)
        assert all(drawing.top <= y <= drawing.bottom for _, y in drawn)
        assert drawing.top < drawing.bands[0].top < drawing.bottom


def test_peak_stands_where_its_temperature_says() -> None:
    [desk, _] = curve_drawings(unit="C", planned=PLAN)
    highest = min(y for _, y in points(desk.planned))
    # The paper ends 6 % above the highest temperature.
    share = (desk.bottom - highest) / (desk.bottom - desk.top)
    assert share == pytest.approx(1 / 1.06, abs=0.001)


def test_unit_changes_the_figures_and_not_the_time() -> None:
    celsius, fahrenheit = (curve_drawings(unit=unit, planned=PLAN)[0] for unit in "CF")
    assert celsius.temperature_ticks[0].label == "0 °C"
    assert fahrenheit.temperature_ticks[0].label == "0 °F"
    assert celsius.time_ticks == fahrenheit.time_ticks


def test_clock_ticks_stand_at_whole_hours_of_the_studio() -> None:
    starts = datetime(2026, 3, 12, 17, 40, tzinfo=ZoneInfo("Europe/Lisbon"))
    [desk, _] = curve_drawings(unit="C", planned=PLAN, starts_at=starts)
    assert desk.time_ticks[0].label == "18:00"
    assert "Fri" in {tick.label for tick in desk.time_ticks}


def test_clock_ticks_follow_the_clocks_when_they_change() -> None:
    # Lisbon's clocks went from 01:00 to 02:00 on 29 March 2026: half past midnight, then 02:30.
    starts = datetime(2026, 3, 28, 22, 30, tzinfo=ZoneInfo("Europe/Lisbon"))
    line = Line(np.array([0.0, 4 * 3600.0]), np.array([20.0, 800.0]))
    [desk, _] = curve_drawings(unit="C", planned=line, starts_at=starts)
    labels = {tick.label: (tick.at - desk.left) / desk.plot_width for tick in desk.time_ticks}
    assert labels["23:00"] == pytest.approx(0.5 / 4, abs=1e-3)
    assert labels["03:00"] == pytest.approx(3.5 / 4, abs=1e-3)
    assert "01:00" not in labels


def test_earlier_plan_is_drawn_beside_the_one_that_counts() -> None:
    longer = planned_line(planned_curve([Segment(200.0, 800.0, 7200.0), FUSE[1]], KILN))
    [desk, _] = curve_drawings(unit="C", planned=longer, earlier=PLAN)
    assert desk.earlier
    assert desk.earlier != desk.planned


def test_nothing_to_draw_gives_no_drawing() -> None:
    assert curve_drawings(unit="C") == ()
    assert curve_drawings(unit="C", planned=Line(np.array([]), np.array([]))) == ()


def test_gap_lifts_the_pen() -> None:
    line = Line(np.array([0.0, 60, 120, 180]), np.array([20.0, 30, np.nan, 50]))
    [desk, _] = curve_drawings(unit="C", recorded=line)
    assert desk.recorded.count("M") == 2


def test_plotly_figure_says_the_same_in_the_readers_unit() -> None:
    figure = plotly_figure(unit="F", planned=PLAN, bands=[BAND])
    [trace] = json.loads(json.dumps(figure))["data"]
    assert max(trace["y"]) == 1472.0  # 800 °C
    assert trace["x"][-1] == pytest.approx(PLAN.times[-1] / 3600, abs=1e-4)
    assert len(trace["x"]) == len(trace["y"]) == len(trace["customdata"]) < 500
    assert figure["layout"]["shapes"][0]["y0"] == 896.0  # 480 °C


def test_plotly_figure_has_clock_times_when_the_start_is_known() -> None:
    starts = datetime(2026, 3, 12, 17, 40, tzinfo=ZoneInfo("Europe/Lisbon"))
    [trace] = plotly_figure(unit="C", planned=PLAN, starts_at=starts)["data"]
    assert trace["x"][0] == "2026-03-12 17:40:00"
    assert trace["customdata"][0] == "0 min"


def test_plotly_figure_leaves_gaps_empty() -> None:
    line = Line(np.array([0.0, 60, 120]), np.array([20.0, np.nan, 50]))
    [trace] = plotly_figure(unit="C", recorded=line)["data"]
    assert trace["y"] == [20.0, None, 50.0]


def test_plotly_figure_has_real_clocks_when_they_change() -> None:
    # Lisbon's clocks went from 01:00 to 02:00 on 29 March 2026.
    starts = datetime(2026, 3, 28, 23, 30, tzinfo=ZoneInfo("Europe/Lisbon"))
    line = Line(np.array([0.0, 5400.0, 7200.0]), np.array([20.0, 400.0, 500.0]))
    figure = plotly_figure(unit="C", recorded=line, starts_at=starts)
    assert figure["data"][0]["x"] == [
        "2026-03-28 23:30:00",
        "2026-03-29 02:00:00",
        "2026-03-29 02:30:00",
    ]
    assert figure["layout"]["meta"]["clock"] == [
        [0.0, "2026-03-28 23:30:00"],
        [5400.0, "2026-03-29 02:00:00"],
    ]


def test_stretches_and_moments_are_part_of_the_figure() -> None:
    figure = plotly_figure(
        unit="F",
        planned=PLAN,
        stretches=[TimeBand("1", 0.0, 7200.0)],
        moments=[Moment(3600.0, 200.0, "12:00 vented")],
    )
    [stretch] = [shape for shape in figure["layout"]["shapes"] if shape["name"] == "stretch"]
    assert (stretch["x0"], stretch["x1"], stretch["label"]["text"]) == (0.0, 2.0, "1")
    assert (figure["data"][-1]["x"], figure["data"][-1]["y"]) == ([1.0], [392.0])
    assert figure["layout"]["meta"]["clock"] == []


def test_moments_are_drawn_where_they_belong() -> None:
    [desk, _] = curve_drawings(unit="C", planned=PLAN, moments=[Moment(0.0, 800.0, "vented")])
    [point] = desk.moments
    assert (point.x, point.words) == (desk.left, "vented")
    assert desk.top < point.y < desk.bottom


def test_detail_of_nothing_is_nothing() -> None:
    nothing = Line(np.array([]), np.array([]))
    got = detail(nothing, unit="C", starts_at=None, since=0.0, until=60.0)
    assert got == {"x": [], "y": [], "customdata": []}
