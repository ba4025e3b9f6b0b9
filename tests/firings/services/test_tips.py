"""Peaks without noise where there was no hold, or only a short one."""

import numpy as np
import pytest

from firings.services.approach import approach
from firings.services.comparison import compare
from firings.services.corners import seen_corner
from firings.services.readings import Readings
from firings.services.recording import Recording
from firings.services.tips import sharpest_turn, tip_without_noise
from schedules.services.curve import Segment, planned_curve
from tests.simulation.firings import Mishap, simulate
from tests.simulation.kilns import random_controller, random_kiln
from tests.simulation.scoring import PRIOR

TIMES = np.arange(0.0, 5400.0, 30.0)
UP, DOWN = 330.0 / 3600.0, 900.0 / 3600.0
"""°C/s."""


def tip(turned: float, lag: float) -> np.ndarray:
    """A course that goes up at one slope and down at another, as a thermocouple shows it."""
    return 800.0 + UP * (TIMES - turned - lag) - (UP + DOWN) * seen_corner(TIMES - turned, lag)


@pytest.mark.parametrize("lag", [10.0, 25.0, 40.0])
@pytest.mark.parametrize("found_off", [-60.0, 0.0, 60.0])
def test_a_tip_is_told_from_what_lies_about_it(lag, found_off):
    misses = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        turned = 3000.0 + rng.uniform(0.0, 30.0)
        shown = tip(turned, lag)
        # Hand-worked: the lag's response to a corner is highest lag·ln(1 + up/down) after it.
        after = lag * np.log1p(UP / DOWN)
        highest = 800.0 - DOWN * after
        readings = Readings.of(Recording(TIMES, shown + rng.normal(0.0, 1.0, TIMES.size)))
        misses.append(tip_without_noise(readings, turned + found_off) - highest)
    # One reading is off by 1 °C; two of them lie within 1 °C of the tip.
    assert np.sqrt(np.mean(np.square(misses))) < 0.8
    assert max(map(abs, misses)) < 1.5


def just_let_go(turned: float, lag: float = 25.0) -> np.ndarray:
    """Held at 780 °C, then up at 330 °C/h for four minutes, to 22 °C above, then down."""
    since = TIMES - turned
    up, down = seen_corner(since + 240.0, lag), seen_corner(since, lag)
    return 780.0 + UP * up - (UP + DOWN) * down


def test_a_kiln_that_had_only_just_left_a_hold_bends_on_its_way():
    misses = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        turned = 3000.0 + rng.uniform(0.0, 30.0)
        # Hand-worked as above, the first corner being ten lags away.
        highest = 802.0 - DOWN * 25.0 * np.log1p(UP / DOWN)
        noisy = just_let_go(turned) + rng.normal(0.0, 1.0, TIMES.size)
        misses.append(tip_without_noise(Readings.of(Recording(TIMES, noisy)), turned) - highest)
    # Taken for a kiln that rises steadily it would come out 1 to 3 °C too low.
    assert abs(np.mean(misses)) < 0.3
    assert max(map(abs, misses)) < 1.2


@pytest.mark.parametrize("course", [tip, just_let_go])
def test_a_course_turns_where_its_fall_begins(course):
    for seed in range(12):
        rng = np.random.default_rng(seed)
        shown = course(3000.0, 25.0) + rng.normal(0.0, 1.0, TIMES.size)
        # A thermocouple shows it late by its lag, and the two readings about it leave it open.
        assert sharpest_turn(Readings.of(Recording(TIMES, shown))) == pytest.approx(
            3025.0, abs=60.0
        )


def test_coming_to_a_hold_is_no_fall():
    for seed in range(12):
        rng = np.random.default_rng(seed)
        shown = np.interp(TIMES, [0.0, 1800.0, 3600.0, 5400.0], [500.0, 790.0, 790.0, 600.0])
        shown = shown + rng.normal(0.0, 1.0, TIMES.size)
        assert sharpest_turn(Readings.of(Recording(TIMES, shown))) == pytest.approx(
            3600.0, abs=90.0
        )


def test_a_firing_that_never_came_near_its_top_still_has_a_peak():
    plan = [Segment(150.0, 540.0), Segment(300.0, 804.0, 900.0), Segment(None, 510.0, 3600.0)]
    curve, misses = planned_curve(plan, PRIOR), []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        # Switched off half way up the first ramp.
        firing = simulate(
            random_kiln(rng), random_controller(rng), plan, rng, Mishap(cut=(0, 600.0), ends=True)
        )
        seen = compare(curve, firing.recording)
        assert seen.segments[1].end is None
        misses.append(seen.peak_difference + curve.peak - firing.peak)
    # Lines of five minutes through the readings, which smooth it, are 2 to 3 °C too low.
    assert abs(np.mean(misses)) < 0.5
    assert max(map(abs, misses)) < 1.5


def test_too_few_readings_tell_no_tip():
    readings = Readings.of(Recording(TIMES[:8], np.linspace(20.0, 100.0, 8)))
    assert tip_without_noise(readings, 120.0) is None


def test_a_corner_shows_late_by_its_lag_and_never_before():
    assert seen_corner(np.array([-5.0, 0.0]), 25.0).tolist() == [0.0, 0.0]
    late = seen_corner(np.array([1000.0]), 25.0)
    assert late[0] == pytest.approx(975.0)
    # The integral of a step's response over 100 s, by the trapezoid rule.
    fine = np.linspace(0.0, 100.0, 10_001)
    assert seen_corner(np.array([100.0]), 25.0)[0] == pytest.approx(
        np.trapezoid(seen_corner(fine, 25.0, 0), fine), rel=1e-6
    )


def test_a_short_hold_is_no_higher_than_it_was():
    misses = []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        # Up at 330 °C/h, over the target by two decays of 80 and 400 s, down after five minutes.
        # Hand-worked: highest 100·ln 5 = 161 s after it, at 9.17 (e^−0.402 − e^−2.01) = 4.9 °C.
        since = TIMES - 3000.0
        late = np.maximum(since, 0.0)
        over = 100.0 * UP * (np.exp(-late / 400.0) - np.exp(-late / 80.0))
        shown = np.where(since < 0, UP * since, over) - DOWN * np.maximum(since - 300.0, 0.0)
        noisy = 800.0 + shown + rng.normal(0.0, 1.0, TIMES.size)
        found = approach(TIMES, noisy, 1.0, target=800.0, met=3000.0, left=3300.0, at=TIMES)
        misses.append(found.highest - 804.9)
    assert np.sqrt(np.mean(np.square(misses))) < 0.5
    assert max(map(abs, misses)) < 1.0


def test_a_kiln_that_comes_another_way_is_not_fitted():
    since = TIMES - 3000.0
    shown = 800.0 + 12.0 * np.sin(since / 60.0)
    assert approach(TIMES, shown, 0.3, target=800.0, met=3000.0, left=3300.0, at=TIMES) is None
