import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firings.services.bands import time_between
from firings.services.comparison import compare
from firings.services.recording import Recording
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1150.0, 7000.0, 11000.0)


def schedule(peak=804.0, hold=600.0):
    return [
        Segment(200.0, 620.0, 1800.0),
        Segment(300.0, peak, hold),
        Segment(None, 510.0, 3600.0),
        Segment(80.0, 370.0, 0.0),
    ]


def plan(peak=804.0, hold=600.0):
    return planned_curve(schedule(peak, hold), KILN)


plans = st.builds(plan, st.floats(640.0, 900.0), st.floats(0.0, 7200.0))


@settings(deadline=None)
@given(plans)
def test_noted_numbers_that_match_the_plan_differ_by_nothing(own):
    hold = own.segments[1].hold
    seen = compare(own, Recording(peak=own.peak, duration=own.duration, hold=hold))
    assert seen.peak_difference == 0
    assert seen.duration_difference == 0
    assert seen.hold_difference == 0
    assert seen.heat_work_ratio == 1
    assert not seen.missed_plan


@settings(deadline=None)
@given(plans)
def test_a_recording_of_the_plan_itself_differs_by_nothing(own):
    seen = compare(own, Recording(own.times, own.temperatures))
    assert seen.peak_difference == pytest.approx(0, abs=1e-9)
    assert seen.duration_difference == pytest.approx(0, abs=1e-6)
    # Chords miss the curve by 0.1 °C at most: 0.6 % where glass is most sensitive.
    assert seen.heat_work_ratio == pytest.approx(1, abs=6e-3)
    for band in seen.bands:
        assert band.recorded == pytest.approx(band.planned, abs=1e-6)


def test_peak_and_hold_noted_give_the_heat_work_of_such_a_plan():
    seen = compare(plan(), Recording(peak=797.0, duration=30000.0, hold=900.0))
    expected = plan(797.0, 900.0).heat_work(Glass()) / plan().heat_work(Glass())
    assert seen.heat_work_ratio == pytest.approx(expected, rel=1e-9)
    assert seen.hold_difference == 300.0
    assert seen.missed_plan


def test_a_hold_that_nobody_noted_counts_as_planned_and_is_said():
    seen = compare(plan(), Recording(peak=804.0, duration=30000.0))
    assert seen.hold_difference is None
    assert "hold_taken_as_planned" in [remark.code for remark in seen.remarks]


def test_nothing_recorded_compares_to_nothing():
    seen = compare(plan(), Recording())
    assert seen.peak_difference is None
    assert seen.duration_difference is None
    assert seen.heat_work_ratio is None
    assert {remark.code for remark in seen.remarks} == {
        "duration_not_recorded",
        "peak_not_recorded",
    }
    assert not seen.missed_plan


@pytest.mark.parametrize(("peak", "missed"), [(799.0, False), (798.9, True), (809.1, True)])
def test_five_degrees_at_the_top_miss_the_plan(peak, missed):
    assert compare(plan(), Recording(peak=peak)).missed_plan is missed


def test_a_series_gives_its_own_heat_work():
    hotter = plan(812.0)
    times = np.arange(0.0, hotter.duration, 60.0)
    seen = compare(plan(), Recording(times, hotter.at(times)))
    expected = hotter.heat_work(Glass()) / plan().heat_work(Glass())
    assert seen.heat_work_ratio == pytest.approx(expected, rel=0.01)
    assert seen.peak_difference == pytest.approx(8.0, abs=0.01)


@pytest.mark.parametrize(
    ("every", "code"), [(900.0, "readings_too_far_apart"), (7200.0, "readings_miss_the_top")]
)
def test_spot_readings_far_apart_do_not_tell_the_heat_work(every, code):
    own = plan()
    times = np.arange(0.0, own.duration, every)
    seen = compare(own, Recording(times, own.at(times), peak=804.0))
    assert seen.heat_work_ratio == 1
    assert code in [remark.code for remark in seen.remarks]


def test_readings_with_a_gap_are_not_joined_across_it():
    own = plan()
    temperatures = own.temperatures.copy()
    temperatures[len(temperatures) // 2] = np.nan
    seen = compare(own, Recording(own.times, temperatures, peak=800.0))
    assert "readings_with_gaps" in [remark.code for remark in seen.remarks]
    assert seen.heat_work_ratio is not None


def test_a_plan_that_the_kiln_cannot_follow_has_no_duration_and_no_ratio():
    weak = planned_curve([Segment(200.0, 1200.0, 600.0)], KILN)
    seen = compare(weak, Recording(peak=1100.0, duration=3600.0))
    assert seen.duration_difference is None
    assert seen.heat_work_ratio is None


def test_a_peak_below_the_next_target_is_no_such_firing():
    seen = compare(plan(), Recording(peak=600.0))
    assert seen.heat_work_ratio is None
    assert seen.missed_plan


def test_only_the_top_is_told_of_without_a_series():
    segments = compare(plan(), Recording(peak=809.0, hold=660.0)).segments
    assert [segment.index for segment in segments] == [0, 1, 2, 3]
    assert segments[1].overshoot == 5.0
    assert segments[1].hold_achieved == 660.0
    assert segments[0].overshoot is None
    assert segments[1].start is None


@pytest.mark.parametrize(
    ("temperatures", "seconds"),
    [
        ([650.0, 850.0], 60 / 200 * 100),
        ([730.0, 730.0], 100.0),
        ([760.0, 760.0], 100.0),
        ([600.0, 690.0], 0.0),
        ([800.0, 700.0], 60.0),
        ([np.nan, 730.0], 0.0),
    ],
)
def test_time_between(temperatures, seconds):
    found = time_between(np.array([0.0, 100.0]), np.array(temperatures), 700.0, 760.0)
    assert found == pytest.approx(seconds)


@pytest.mark.parametrize(
    "bad",
    [
        {"times": [0.0, 1.0], "temperatures": [20.0]},
        {"times": [1.0, 0.0], "temperatures": [20.0, 20.0]},
        {"times": [0.0, np.nan], "temperatures": [20.0, 20.0]},
        {"peak": np.nan},
        {"duration": -1.0},
        {"hold": -1.0},
    ],
)
def test_a_recording_refuses_nonsense(bad):
    with pytest.raises(ValueError, match=r"must be|never fall"):
        Recording(**bad)


def test_highest_is_the_higher_of_readings_and_note():
    assert Recording([0.0, 1.0], [20.0, 800.0], peak=804.0).highest == 804.0
    assert Recording([0.0, 1.0], [20.0, np.nan]).highest == 20.0
    assert Recording().highest is None


def test_averaging_a_day_of_seconds_keeps_its_heat_work():
    own = plan()
    seconds, sparse = np.arange(0.0, own.duration), np.arange(0.0, own.duration, 10.0)
    ratios = [
        compare(own, Recording(times, own.at(times))).heat_work_ratio for times in (seconds, sparse)
    ]
    assert ratios[0] == pytest.approx(ratios[1], rel=1e-3)
    assert ratios[0] == pytest.approx(1.0, rel=2e-3)


@pytest.mark.parametrize(
    ("peak", "repeatability", "beyond"),
    [(805.0, 1.5, False), (806.0, 1.5, True), (806.0, 3.0, False)],
)
def test_a_difference_counts_beyond_what_the_kiln_repeats(peak, repeatability, beyond):
    seen = compare(plan(), Recording(peak=peak, hold=600.0), repeatability=repeatability)
    assert ("peak_difference" in seen.beyond) is beyond
    assert ("heat_work_ratio" in seen.beyond) is beyond
    assert "hold_difference" not in seen.beyond
