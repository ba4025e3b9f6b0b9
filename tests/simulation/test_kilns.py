"""The simulated kilns do what kilns do, and are none of the project's own model."""

import numpy as np
import pytest

from schedules.services.curve import Segment
from tests.simulation.firings import Mishap, simulate
from tests.simulation.kilns import STEP, Plant, random_controller, random_kiln

SLUMP = [Segment(150.0, 540.0, 600.0), Segment(200.0, 677.0, 900.0), Segment(None, 510.0, 3600.0)]


def fired(seed=1, mishap=None, segments=SLUMP, **how):
    rng = np.random.default_rng(seed)
    return simulate(random_kiln(rng), random_controller(rng), segments, rng, mishap, **how)


def constant(firing, high, low, ambient):
    """s of the time constant with which the kiln fell from `high` to `low`, °C, at the last."""
    when = [firing.times[np.flatnonzero(firing.temperatures > each)[-1]] for each in (high, low)]
    return (when[1] - when[0]) / np.log((high - ambient) / (low - ambient))


def test_full_power_tends_to_the_limit():
    kiln = random_kiln(np.random.default_rng(0), limit=1100.0)
    plant = Plant(kiln)
    for _ in range(round(80 * 3600 / STEP)):
        plant.step(1.0)
    assert plant.shown == pytest.approx(1100.0, abs=1.0)
    assert kiln.limit() == pytest.approx(1100.0, abs=1e-6)


def test_no_power_keeps_a_cold_kiln_cold():
    plant = Plant(random_kiln(np.random.default_rng(0)))
    before = plant.shown
    plant.step(0.0)
    assert plant.shown == pytest.approx(before, abs=1e-12)


def test_a_kiln_of_two_masses_falls_off_the_top_faster_than_through_the_night():
    firing = fired(segments=[Segment(None, 800.0, 0.0)])
    ambient = random_kiln(np.random.default_rng(1)).ambient
    assert constant(firing, 200.0, 100.0, ambient) > 1.5 * constant(firing, 790.0, 700.0, ambient)


def test_each_hold_lasts_as_long_as_was_keyed():
    firing = fired()
    assert [true.held for true in firing.truth] == pytest.approx([600.0, 900.0, 3600.0], abs=STEP)


def test_readings_are_noisy_and_half_a_minute_apart():
    firing = fired()
    recording = firing.recording
    clean = np.interp(recording.times, firing.times, firing.temperatures)
    assert np.std(recording.temperatures - clean) == pytest.approx(1.0, abs=0.1)
    assert set(np.diff(recording.times)) == {30.0}


def test_mishaps_show_in_the_truth():
    usual = fired().truth
    late = fired(mishap=Mishap(late=1200.0)).truth
    assert late[0].ramp_start == 1200.0
    longer = fired(mishap=Mishap(lengthened=(1, 1800.0))).truth
    assert longer[1].held - usual[1].held == pytest.approx(1800.0)
    left = fired(mishap=Mishap(skipped=(0, 0.5), skipped_hold=False)).truth
    assert left[0].hold_start is None
    assert left[0].hold_end < usual[0].hold_start


def test_a_logger_without_power_leaves_a_gap():
    firing = fired(mishap=Mishap(cut=(0, 1800.0), logger_dies=True))
    [(begin, end)] = firing.recording.gaps
    assert end - begin == 1800.0
    inside = (firing.recording.times > begin) & (firing.recording.times < end)
    assert not inside.any()


def test_a_kiln_that_stays_off_comes_to_no_later_segment():
    firing = fired(mishap=Mishap(cut=(1, 600.0), ends=True))
    assert firing.truth[1].hold_end is None
    assert firing.truth[2].ramp_start is None
