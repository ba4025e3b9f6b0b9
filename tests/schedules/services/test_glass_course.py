import numpy as np
import pytest

from schedules.services.annealing import stress_over
from schedules.services.glass_course import GlassCourse, glass_course, settled_below
from schedules.services.passing_stress import steady_rate_limits
from studio.services.glass import Glass

GLASS = Glass(493.0, 532.0, 677.0)
HOUR = 3600.0


def course(hours, celsius, thickness=0.012, cools_from=0.0, **more) -> GlassCourse:
    stress = stress_over(np.array(hours) * HOUR, celsius, thickness, GLASS)
    return glass_course(stress, GLASS, cools_from=cools_from * HOUR, **more)


def test_steady_rates_come_to_their_steady_differences() -> None:
    # R·d²/(2κ) with κ = 4.853e-7 m²/s of `Glass()`: 12 mm at 90 °C/h is 3.7 °C, at 60 °C/h 2.5 °C.
    per_rate = 0.012**2 / (2 * GLASS.diffusivity) / HOUR
    found = course([0, 6, 7, 10], [20.0, 560.0, 560.0, 380.0], cools_from=7)
    assert found.heating.size == pytest.approx(90 * per_rate, rel=0.01)
    assert found.settling.size == pytest.approx(60 * per_rate, rel=0.01)
    assert found.passing.size == pytest.approx(60 * per_rate, rel=0.01)


def test_what_happens_to_soft_glass_is_not_its_difference() -> None:
    # 400 °C/h between 560 and 800: five times what it sees below.
    gentle = course([0, 6, 7, 10], [20.0, 560.0, 560.0, 380.0], cools_from=7)
    hot = course(
        [0, 6, 6.6, 7.2, 8.2, 11.2], [20.0, 560.0, 800.0, 560.0, 560.0, 380.0], cools_from=8.2
    )
    assert hot.heating.size == pytest.approx(gentle.heating.size, rel=0.01)
    assert hot.settling.size == pytest.approx(gentle.settling.size, rel=0.01)


def test_fall_to_the_soak_does_not_count() -> None:
    found = course([0, 6, 6.2, 8.2, 10.2], [20.0, 560.0, 482.0, 482.0, 422.0], cools_from=8.2)
    assert found.settling.moment >= 8.2 * HOUR
    assert found.settling.size < 1.5


def test_moment_and_temperature_are_of_the_greatest() -> None:
    found = course([0, 6, 7, 10, 12], [20.0, 560.0, 560.0, 440.0, 100.0], cools_from=7)
    assert 10 * HOUR <= found.passing.moment <= 12 * HOUR
    assert found.passing.face < settled_below(GLASS)


@pytest.mark.parametrize(("times_limit", "strained"), [(0.8, False), (1.2, True)])
def test_heating_beyond_the_strength_is_said(times_limit: float, strained: bool) -> None:
    rate = times_limit * steady_rate_limits(0.025, GLASS).heating
    found = course([0, 400 / rate], [20.0, 420.0], thickness=0.025)
    assert found.is_strained is strained
    assert not found.tension_at_surface


def test_cooling_pulls_at_the_surface() -> None:
    found = course([0, 30, 32, 32.5], [20.0, 560.0, 560.0, 200.0], thickness=0.025, cools_from=32)
    assert found.tension_at_surface


def test_what_is_left_is_judged_by_what_makers_leave() -> None:
    slow = course([0, 12, 14, 25, 30], [20.0, 560.0, 560.0, 400.0, 60.0], 0.025, cools_from=14)
    quick = course([0, 12, 14, 15, 20], [20.0, 560.0, 560.0, 400.0, 60.0], 0.025, cools_from=14)
    assert slow.is_little_left
    assert not quick.is_little_left
    assert slow.usual < slow.most < quick.left


def test_before_there_is_one_piece_nothing_is_told() -> None:
    found = course([0, 1, 2, 5], [20.0, 560.0, 560.0, 400.0], cools_from=2, one_piece_from=2 * HOUR)
    assert found.heating is None
    assert found.tension.moment >= 2 * HOUR


def test_firing_that_never_cools_has_no_cooling() -> None:
    found = course([0, 6], [20.0, 560.0], cools_from=6.1)
    assert (found.settling, found.passing) == (None, None)
