"""Energy computed for a firing, against what a meter counts in simulated kilns."""

import math

import numpy as np
import pytest

from firings.services.energy import (
    FIRING_SCATTER,
    MODEL_ERROR,
    PLATE_ERROR,
    learn_energy_factor,
    planned_energy,
    recorded_energy,
)
from firings.services.kiln_learning import learn_response
from firings.services.wall_learning import learn_walls
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse
from tests.simulation.firings import simulate
from tests.simulation.kilns import HOUR, random_controller, random_kiln
from tests.simulation.schedules import random_schedule
from tests.simulation.scoring import PRIOR, WAITING

KILN = KilnResponse(1080.0, 6500.0, 8000.0, slow_cooling_time_constant=17000.0)
PLAN = [Segment(150.0, 540.0, 900.0), Segment(None, 804.0, 600.0), Segment(60.0, 400.0)]
RATED = 7.0
UNMETERED, METERED = [0, 2], [1, 3]
"""Columns of `metered_kilns`."""


def metered_kilns(seeds):
    """For each kiln, computed over metered: recorded without and with factor, planned the same."""
    rows = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        kiln, waits = random_kiln(rng), bool(rng.random() < WAITING)
        controller = random_controller(rng, waits)
        firings = [simulate(kiln, controller, random_schedule(rng), rng) for _ in range(5)]
        plans = [planned_curve(each.segments, PRIOR) for each in firings[:4]]
        recordings = [each.recording for each in firings[:4]]
        response = learn_response(recordings, plans, PRIOR)
        walls = learn_walls(recordings, plans, PRIOR)
        meters = [RATED * each.full_power_seconds / HOUR for each in firings]
        pairs = {"recorded": [], "planned": []}
        for each, meter in zip(firings, meters, strict=True):
            seen = each.recording
            recorded = recorded_energy(seen.times, seen.temperatures, response, RATED, walls=walls)
            curve = planned_curve(each.segments, response, waits=waits)
            pairs["recorded"].append((recorded.kwh, meter))
            pairs["planned"].append((planned_energy(curve, RATED, walls=walls).kwh, meter))
        row = []
        for kind in ("recorded", "planned"):
            computed, meter = pairs[kind][-1]
            factor = learn_energy_factor(pairs[kind][:2])
            row += [computed / meter, computed * factor.value / meter]
        rows.append(row)
    return np.array(rows)


def hold_within(ratios, unmetered):
    """Measured on the first 100 kilns: recorded 100 and planned 98 of 100 within 10 % unmetered,
    100 and 99 with two metered. Of their ln, standard deviations of 0.033 and 0.042 unmetered,
    0.008 and 0.025 metered."""
    within = np.mean(np.abs(ratios - 1) <= 0.10, axis=0)
    spread = np.std(np.log(ratios), axis=0)
    assert within[METERED].min() >= 0.95
    assert within[UNMETERED].min() >= unmetered
    assert spread[UNMETERED].max() < 0.06
    assert spread[METERED].max() < FIRING_SCATTER
    assert np.median(ratios, axis=0) == pytest.approx(1.0, abs=0.03)


def test_four_recordings_bring_the_next_within_ten_per_cent_without_a_meter():
    hold_within(metered_kilns(range(5000, 5020)), unmetered=0.9)


@pytest.mark.slow
@pytest.mark.parametrize("first", [5000, 6000])
def test_four_recordings_bring_the_next_of_a_hundred_kilns_within_ten_per_cent(first):
    hold_within(metered_kilns(range(first, first + 100)), unmetered=0.95)


def test_a_recording_of_the_plan_takes_what_the_plan_takes():
    curve = planned_curve(PLAN, KILN)
    times = np.arange(0.0, curve.duration, 20.0)
    seen = recorded_energy(times, curve.at(times), KILN, RATED)
    assert seen.kwh == pytest.approx(planned_energy(curve, RATED).kwh, rel=0.02)
    assert seen.least == seen.most == seen.kwh


def test_a_gap_leaves_bounds_around_what_was_taken():
    curve = planned_curve(PLAN, KILN)
    times = np.arange(0.0, curve.duration, 20.0)
    whole = recorded_energy(times, curve.at(times), KILN, RATED)
    kept = (times < 9000.0) | (times > 14000.0)
    seen = recorded_energy(times[kept], curve.at(times[kept]), KILN, RATED)
    assert seen.least < whole.kwh < seen.most
    assert seen.least < seen.kwh < seen.most
    named = recorded_energy(times, curve.at(times), KILN, RATED, gaps=[(9000.0, 14000.0)])
    assert named.most - named.least == pytest.approx(seen.most - seen.least, rel=0.05)


def test_a_gap_with_the_kiln_off_takes_nothing_at_the_least():
    times = np.array([0.0, 7200.0])
    seen = recorded_energy(times, KILN.cooled(804.0, times), KILN, RATED)
    assert seen.most == pytest.approx(0.0, abs=1e-6)


def test_noise_of_readings_does_not_pass_for_power():
    curve = planned_curve(PLAN, KILN)
    times = np.arange(0.0, curve.duration, 30.0)
    noise = np.random.default_rng(1).normal(0.0, 1.0, times.size)
    quiet = recorded_energy(times, curve.at(times), KILN, RATED)
    noisy = recorded_energy(times, curve.at(times) + noise, KILN, RATED)
    assert noisy.kwh == pytest.approx(quiet.kwh, rel=0.01)


def test_energy_is_never_beyond_full_power_and_grows_with_the_plate():
    curve = planned_curve(PLAN, KILN)
    one, two = planned_energy(curve, 1.0), planned_energy(curve, 2.0)
    assert 0 < one.kwh < curve.duration / HOUR
    assert two.kwh == pytest.approx(2 * one.kwh)


def test_an_unsure_response_makes_an_unsure_energy():
    unsure = KilnResponse(
        1080.0,
        6500.0,
        8000.0,
        slow_cooling_time_constant=17000.0,
        covariance=np.diag([60.0, 80.0, 2000.0, 4000.0]) ** 2,
    )
    sure, doubtful = (planned_energy(planned_curve(PLAN, each), RATED) for each in (KILN, unsure))
    assert sure.relative_error == pytest.approx(math.hypot(MODEL_ERROR, PLATE_ERROR))
    assert doubtful.relative_error > sure.relative_error
    assert doubtful.kwh == sure.kwh


def test_a_factor_counts_from_two_metered_firings():
    curve = planned_curve(PLAN, KILN)
    plain = planned_energy(curve, RATED)
    one, two = (learn_energy_factor([(20.0, 24.0)] * n) for n in (1, 2))
    assert planned_energy(curve, RATED, one) == plain
    better = planned_energy(curve, RATED, two)
    assert better.kwh == pytest.approx(plain.kwh * two.value)
    assert better.relative_error < plain.relative_error


def test_a_factor_is_drawn_to_one_and_not_turned_by_one_odd_firing():
    few, many = (learn_energy_factor([(20.0, 24.0)] * n) for n in (1, 12))
    assert 1.0 < few.value < many.value < 1.2
    assert many.error < few.error
    odd = learn_energy_factor([(20.0, 24.0)] * 5 + [(20.0, 60.0)])
    assert odd.value == pytest.approx(1.2, rel=0.04)
    assert learn_energy_factor([]).value == 1.0


@pytest.mark.parametrize("pair", [(0.0, 1.0), (1.0, -1.0), (1.0, float("nan"))])
def test_an_energy_that_is_none_is_refused(pair):
    with pytest.raises(ValueError, match="positive"):
        learn_energy_factor([pair])


@pytest.mark.parametrize(
    ("times", "temperatures", "rated", "words"),
    [
        ([0.0], [20.0], 5.0, "two known"),
        ([0.0, 0.0], [20.0, 30.0], 5.0, "rise"),
        ([0.0, 1.0], [20.0], 5.0, "one shape"),
        ([0.0, 1.0], [20.0, 30.0], 0.0, "power is positive"),
        ([0.0, 1.0], [20.0, float("nan")], 5.0, "two known"),
    ],
)
def test_what_tells_no_energy_is_refused(times, temperatures, rated, words):
    with pytest.raises(ValueError, match=words):
        recorded_energy(times, temperatures, KILN, rated)


def test_a_curve_that_never_arrives_has_no_energy():
    with pytest.raises(ValueError, match="segment 1"):
        planned_energy(planned_curve([Segment(None, 1200.0)], KILN), RATED)
