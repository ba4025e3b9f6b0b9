from math import exp, inf, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from schedules.services.curve import SAMPLING_ERROR, Segment, Span, planned_curve
from studio.services.glass import Glass, fluidity, heat_work
from studio.services.kiln_response import REACH, KilnResponse
from tests.schedules.services.schedule_strategies import responses, segments

# At full power 1100 − T falls by e in 2 h; switched off T − 20 falls by e in 3 h.
KILN = KilnResponse(1100.0, 7200.0, 10800.0)
GLASS = Glass()
either_controller = pytest.mark.parametrize("waits", [True, False])


@either_controller
def test_ramp_within_the_kiln_s_power_is_straight(waits):
    # 100 °C/h from 20 to 520 is 5 h; the knee would be at 1100 − 100 × 2 = 900 °C.
    curve = planned_curve([Segment(100.0, 520.0, 600.0)], KILN, waits=waits)
    assert curve.spans == (Span(0.0, 18000.0, 18600.0),)
    assert curve.times.tolist() == [0.0, 18000.0, 18600.0]
    assert curve.temperatures.tolist() == [20.0, 520.0, 520.0]


def test_ramp_bends_where_the_kiln_falls_behind():
    # 300 °C/h: straight to 1100 − 300 × 2 = 500 °C (1.6 h), then 2 h × ln(600/300) to 800 °C.
    curve = planned_curve([Segment(300.0, 800.0)], KILN)
    assert curve.at(5760.0) == pytest.approx(500.0)
    assert curve.duration == pytest.approx(5760.0 + 7200.0 * log(2.0), abs=1e-6)


def test_fall_bends_where_the_kiln_keeps_its_heat():
    # From 800 at 100 °C/h: straight to 20 + 100 × 3 = 320 °C (4.8 h), then 3 h × ln(300/180).
    curve = planned_curve([Segment(100.0, 200.0)], KILN, start=800.0)
    assert curve.at(17280.0) == pytest.approx(320.0)
    assert curve.duration == pytest.approx(17280.0 + 10800.0 * log(300 / 180), abs=1e-6)


def test_slow_walls_bend_a_fall_at_the_split():
    # Below 370 °C the constant is 6 h: 100 °C/h would need 620 °C, so it bends at 370 at once.
    kiln = KilnResponse(1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0)
    curve = planned_curve([Segment(100.0, 195.0)], kiln, start=470.0)
    assert curve.duration == pytest.approx(3600.0 + 21600.0 * log(2.0), abs=1e-6)


@either_controller
def test_full_power_up_and_down(waits):
    curve = planned_curve([Segment(None, 800.0, 60.0), Segment(None, 410.0)], KILN, waits=waits)
    up, down = 7200.0 * log(1080 / 300), 10800.0 * log(780 / 390)
    assert curve.spans[0] == Span(0.0, pytest.approx(up), pytest.approx(up + 60.0))
    assert curve.duration == pytest.approx(up + 60.0 + down, abs=1e-6)
    assert curve.peak == 800.0


def test_clock_does_not_wait_and_the_hold_is_cut_short():
    # 540 °C/h from 20 to 830 takes the setpoint 1.5 h. 540 °C/h is all this kiln can at 20 °C, so
    # it lags from the start: 1100 − 1080 exp(−1.5/2) = 589.8 °C when the hold begins.
    curve = planned_curve([Segment(540.0, 830.0, 600.0)], KILN, waits=False)
    assert curve.spans[0] == Span(0.0, 5400.0, 6000.0)
    assert curve.at(5400.0) == pytest.approx(1100 - 1080 * exp(-0.75))
    assert curve.peak == pytest.approx(1100 - 1080 * exp(-6000 / 7200))


def test_kiln_that_lags_catches_up_in_the_hold():
    curve = planned_curve([Segment(540.0, 830.0, 7200.0)], KILN, waits=False)
    caught = 7200.0 * log(1080 / 270)
    assert curve.at([caught - 1.0, caught]) == pytest.approx([829.9625, 830.0], abs=1e-3)
    assert curve.temperatures[-1] == 830.0


def test_kiln_that_lags_meets_the_setpoint_coming_back():
    # The setpoint is at 830 °C after 1.5 h and falls at 100 °C/h; the kiln still heats and meets it
    # where 1100 − 1080 exp(−t/2) = 830 − 100 (t − 1.5), t in hours.
    curve = planned_curve([Segment(540.0, 830.0), Segment(100.0, 600.0)], KILN, waits=False)
    met = max(curve.pieces, key=lambda piece: piece.last).end / 3600.0
    assert 1100 - 1080 * exp(-met / 2) == pytest.approx(830 - 100 * (met - 1.5), abs=1e-9)
    assert curve.at(met * 3600.0) == pytest.approx(curve.peak)
    assert curve.temperatures[-1] == pytest.approx(600.0)


def test_kiln_left_behind_ends_with_the_clock_and_nothing_after():
    response = KilnResponse(1064.75, 4576.0, 3600.0, 7.0)
    curve = planned_curve([Segment(593.0, 666.0)], response, waits=False)
    assert [bool(piece.constant) for piece in curve.pieces] == [False, True]
    assert curve.duration == curve.pieces[-1].end == 659.0 / (593.0 / 3600.0)


def test_kiln_meets_a_ramp_that_is_hardly_slower():
    # 600 °C/h to 450 °C leaves the kiln behind from the start; on 196.9 °C/h it gains so little
    # that where they meet, near 2 h, they part by no more than 2 °C/h.
    curve = planned_curve([Segment(600.0, 450.0), Segment(196.9, 840.0)], KILN, waits=False)

    def behind(hours):
        return 450 + 196.9 * (hours - 430 / 600) - (1100 - 1080 * exp(-hours / 2))

    met = brentq(behind, 1.5, 2.015, xtol=1e-13)
    assert 0.0 < 540 * exp(-met / 2) - 196.9 < 2.0
    assert [piece.end / 3600.0 for piece in curve.pieces[1:2]] == pytest.approx([met], abs=1e-9)


def test_target_may_stay_to_split_a_hold():
    curve = planned_curve([Segment(100.0, 520.0, 60.0), Segment(50.0, 520.0, 90.0)], KILN)
    assert curve.spans[1] == Span(18060.0, 18060.0, 18150.0)


def test_start_is_the_room_s_temperature_unless_given():
    assert planned_curve([], KILN).temperatures.tolist() == [20.0]
    assert planned_curve([], KILN, start=300.0).at(0.0) == 300.0
    assert planned_curve([], KILN).duration == 0.0


@either_controller
@pytest.mark.parametrize("target", [1099.0, 1100.0, 1500.0])
@pytest.mark.parametrize("rate", [None, 100.0, 900.0])
def test_too_hot_a_target_ends_the_curve_a_degree_short(target, rate, waits):
    plan = [Segment(100.0, 520.0, 60.0), Segment(rate, target, 600.0), Segment(None, 500.0)]
    curve = planned_curve(plan, KILN, waits=waits)
    assert curve.unreached == 1
    assert curve.duration is None
    assert len(curve.spans) == 1
    assert curve.peak == pytest.approx(1100.0 - REACH)
    assert curve.cool_to(100.0) is None
    assert np.isnan(curve.at(curve.times[-1] + 1.0))
    with pytest.raises(ValueError, match="segment 2"):
        curve.heat_work(GLASS)


@either_controller
@pytest.mark.parametrize("target", [21.0, 20.0, -50.0])
@pytest.mark.parametrize("rate", [None, 100.0, 900.0])
def test_target_at_the_room_ends_the_curve_a_degree_above(target, rate, waits):
    curve = planned_curve([Segment(rate, target)], KILN, start=500.0, waits=waits)
    assert curve.unreached == 0
    assert curve.temperatures[-1] == pytest.approx(20.0 + REACH)


@pytest.mark.parametrize(("start", "target"), [(20.0, 10.0), (20.5, 10.0), (1099.5, 1200.0)])
def test_target_out_of_reach_from_the_start_leaves_no_curve(start, target):
    curve = planned_curve([Segment(100.0, target)], KILN, start=start)
    assert curve.unreached == 0
    assert curve.temperatures.tolist() == [start]


@pytest.mark.parametrize(
    ("segment", "start", "word"),
    [
        (Segment(0.0, 500.0), None, "rate"),
        (Segment(-100.0, 500.0), None, "rate"),
        (Segment(inf, 500.0), None, "rate"),
        (Segment(100.0, 500.0, -1.0), None, "hold"),
        (Segment(100.0, float("nan")), None, "target"),
        (Segment(100.0, 500.0), 1100.0, "starts"),
        (Segment(100.0, 500.0), float("nan"), "starts"),
    ],
)
def test_nonsense_is_refused(segment, start, word):
    with pytest.raises(ValueError, match=word):
        planned_curve([segment], KILN, start=start)


def test_time_before_the_start_and_after_the_end():
    curve = planned_curve([Segment(None, 800.0)], KILN)
    end = curve.duration
    assert curve.at(-60.0) == 20.0
    assert curve.at([end, end + 10800.0]) == pytest.approx([800.0, 20 + 780 / np.e])


def test_opening_time_counts_free_cooling():
    curve = planned_curve([Segment(None, 800.0)], KILN)
    assert curve.cool_to(60.0) == pytest.approx(curve.duration + 10800.0 * log(780 / 40))
    assert curve.cool_to(20.0) is None
    assert curve.cool_to(-5.0) is None


def test_curve_that_ends_cold_is_cool_before_its_end():
    # From 520 at 100 °C/h: 420 °C an hour after the top; then a long hold at 400 °C.
    curve = planned_curve([Segment(100.0, 520.0), Segment(100.0, 400.0, 7200.0)], KILN)
    assert curve.cool_to(420.0) == pytest.approx(18000.0 + 3600.0)
    assert curve.cool_to(900.0) == 0.0


def test_heat_work_counts_the_way_down_after_the_end():
    switched_off = planned_curve([Segment(None, 800.0, 600.0)], KILN)
    chilled = planned_curve([Segment(None, 800.0, 600.0), Segment(None, 300.0)], KILN)
    assert switched_off.heat_work(GLASS) == pytest.approx(chilled.heat_work(GLASS), rel=1e-8)
    assert switched_off.heat_work(GLASS) > 600.0 * fluidity(800.0, GLASS)
    assert planned_curve([], KILN).heat_work(GLASS) == 0.0


@settings(deadline=None)
@given(responses(), segments(), st.booleans())
def test_curve_is_whole_and_within_the_kiln(response, plan, waits):
    curve = planned_curve(plan, response, waits=waits)
    assert curve.unreached is None
    steps = np.diff(curve.times)
    assert np.all(steps > 0)
    assert curve.times[-1] == curve.duration
    # No faster than at a step's beginning: both exponentials slow down, and the cooling's time
    # constant changes between steps. In less than a millisecond a slope is all rounding error.
    counted = steps > 1e-3
    begin = curve.temperatures[:-1][counted]
    rates = np.diff(curve.temperatures)[counted] / steps[counted] * 3600.0
    assert np.all(rates <= response.rise_at(begin) + 1e-6)
    fastest = (begin - response.ambient) / response.cooling_time_constant * 3600.0
    assert np.all(rates >= -fastest - 1e-6)


@settings(deadline=None)
@given(responses(), segments())
def test_controller_that_waits_holds_each_target_in_full(response, plan):
    curve = planned_curve(plan, response)
    for segment, span in zip(plan, curve.spans, strict=True):
        assert span.hold_end - span.hold_start == pytest.approx(segment.hold, abs=1e-6)
        assert curve.at(span.hold_start) == pytest.approx(segment.target, abs=1e-6)
        assert curve.at(span.hold_end) == pytest.approx(segment.target, abs=1e-6)


@settings(deadline=None)
@given(responses(), segments())
def test_clock_alone_times_a_controller_that_does_not_wait(response, plan):
    timed = [segment for segment in plan if segment.rate is not None]
    curve = planned_curve(timed, response, waits=False)
    targets = [response.ambient, *(segment.target for segment in timed)]
    ramps = [
        abs(end - begin) / segment.rate * 3600.0 + segment.hold
        for begin, end, segment in zip(targets, targets[1:], timed, strict=False)
    ]
    assert curve.duration == pytest.approx(sum(ramps), rel=1e-12, abs=1e-6)


@settings(deadline=None)
@given(responses(), segments(), st.booleans())
def test_samples_draw_the_curve(response, plan, waits):
    curve = planned_curve(plan, response, waits=waits)
    middles = (curve.times[:-1] + curve.times[1:]) / 2
    chords = (curve.temperatures[:-1] + curve.temperatures[1:]) / 2
    assert curve.at(curve.times) == pytest.approx(curve.temperatures, abs=1e-6)
    assert curve.temperatures.max() == curve.peak
    assert np.all(np.abs(curve.at(middles) - chords) <= SAMPLING_ERROR)


@settings(deadline=None, max_examples=50)
@given(responses(), segments(), st.booleans())
def test_heat_work_is_that_of_the_curve_finely_sampled(response, plan, waits):
    curve = planned_curve(plan, response, waits=waits)
    cold = curve.cool_to(response.ambient + 5.0)
    times = np.union1d(np.linspace(0.0, cold, 60_000), curve.times[curve.times < cold])
    assert curve.heat_work(GLASS) == pytest.approx(
        heat_work(times, curve.at(times), GLASS), rel=1e-4
    )


@settings(deadline=None)
@given(responses(), segments(), st.floats(50.0, 800.0))
def test_kiln_stays_below_what_it_cooled_to(response, plan, temperature):
    curve = planned_curve(plan, response)
    moment = curve.cool_to(temperature)
    assert curve.at(moment) <= temperature + 1e-6
    later = moment + np.linspace(0.0, 50_000.0, 500)
    assert np.all(curve.at(later) <= temperature + 1e-6)
