import numpy as np
import pytest

from firings.services.holding import held, highest_without_noise
from firings.services.interruptions import Interruption
from firings.services.readings import Readings
from firings.services.recording import Recording

BEGIN, END = 3600.0, 7200.0


def overshooting(times, height=6.0, decay=300.0):
    """A ramp of 200 °C/h to 800 °C, past it by `height` 5 min after, then calm; then cooling."""
    ramp = 800.0 + (times - BEGIN) / 3600.0 * 200.0
    since = np.maximum(times - BEGIN, 0.0)
    # Peak of x·exp(1 − x) is 1 at x = 1.
    bump = 800.0 + height * since / decay * np.exp(1.0 - since / decay)
    course = np.where(times < BEGIN, ramp, bump)
    return np.where(times > END, course - (times - END) / 3600.0 * 400.0, course)


def seen(noise=0.0, seed=0, every=30.0, **how):
    times = np.arange(0.0, 9000.0, every)
    rng = np.random.default_rng(seed)
    return Readings.of(
        Recording(times, overshooting(times, **how) + rng.normal(0.0, noise, times.size))
    )


def test_an_overshoot_is_read_without_its_noise():
    off = [
        held(seen(noise=1.0, seed=seed), (), 800.0, 1.0, BEGIN, END).overshoot - 6.0
        for seed in range(40)
    ]
    assert abs(np.mean(off)) < 0.2
    assert np.std(off) < 0.5


def test_the_highest_single_reading_is_no_peak():
    # 300 readings of a level course with 1 °C of noise: the highest lies near 3 °C above it.
    times = np.arange(0.0, 9000.0, 30.0)
    noisy = 700.0 + np.random.default_rng(2).normal(0.0, 1.0, times.size)
    assert noisy.max() > 702.0
    _, peak = highest_without_noise(Readings.of(Recording(times, noisy)))
    assert peak == pytest.approx(700.0, abs=1.0)


def test_without_noise_readings_are_taken_as_they_are():
    one = held(seen(), (), 800.0, 1.0, BEGIN, END)
    assert one.overshoot == pytest.approx(6.0, abs=0.01)
    assert one.held == END - BEGIN
    # x·exp(1 − x) is back at 1/2 at x = 2.678: 3 °C of 6.
    assert one.settled_after == pytest.approx(2.678 * 300.0, abs=45.0)
    # Within 3 °C but for x from 0.232 to 2.678.
    assert one.within == pytest.approx(3600.0 - 2.446 * 300.0, abs=60.0)
    # The bump's area is height × decay × e, in an hour.
    assert one.mean == pytest.approx(800.0 + 6.0 * 300.0 * np.e / 3600.0, abs=0.1)


def test_a_hold_from_above_counts_its_undershoot():
    times = np.arange(0.0, 9000.0, 30.0)
    mirrored = Readings.of(Recording(times, 1600.0 - overshooting(times)))
    one = held(mirrored, (), 800.0, -1.0, BEGIN, END)
    assert one.overshoot == pytest.approx(6.0, abs=0.01)
    assert one.furthest == pytest.approx(794.0, abs=0.01)


def test_a_hold_short_of_its_target_overshoots_nothing_and_settles_when_near():
    low = held(seen(height=0.0), (), 804.0, 1.0, BEGIN, END)
    assert low.overshoot == 0.0
    assert low.settled_after is None
    assert low.within == 0.0


def test_an_interruption_is_no_part_of_the_hold():
    gap = Interruption(5000.0, 6000.0, 50.0)
    one = held(seen(noise=1.0), (gap,), 800.0, 1.0, BEGIN, END)
    assert one.held == END - BEGIN - 1000.0


def test_a_hold_of_which_nothing_was_read_is_none():
    times = np.array([0.0, 30.0, 60.0, 90.0])
    few = Readings.of(Recording(times, np.full(4, 20.0)))
    assert held(few, (), 800.0, 1.0, BEGIN, END) is None
