import numpy as np
import pytest

from firings.services.followed import LUKEWARM, Followed, follow
from firings.services.recording import Recording
from schedules.services.annealing import residual_stress, stress_over
from studio.services.glass import Glass

GLASS = Glass(493.0, 532.0, 677.0)
HOUR = 3600.0
# To 804 °C, down to a soak of two hours at 482 °C, and to 60 °C.
HOURS = [0.0, 5.0, 5.2, 6.2, 8.2, 9.2, 17.0]
SHOWN = [20.0, 804.0, 804.0, 482.0, 482.0, 427.0, 60.0]


def readings(step=60.0, begin=0.0, end=17.0, without=(), noise=0.0, offset=0.0) -> Recording:
    times = np.arange(begin * HOUR, end * HOUR, step)
    kept = np.ones(times.size, dtype=bool)
    for since, until in without:
        kept &= (times < since * HOUR) | (times > until * HOUR)
    times = times[kept]
    shown = np.interp(times, np.array(HOURS) * HOUR, SHOWN) - offset
    return Recording(times, shown + np.random.default_rng(3).normal(0.0, noise, times.size))


def why(recording: Recording, offset: float = 0.0) -> tuple[str | None, bool]:
    found = follow(recording, GLASS, offset)
    return found.unfollowed and found.unfollowed.code, found.is_heating_known


def left(found: Followed, thickness: float = 0.012) -> float:
    return residual_stress(found.times, found.temperatures, thickness, GLASS)


@pytest.mark.parametrize(
    ("recording", "code", "heating"),
    [
        (readings(), None, True),
        (readings(end=8.6), "ends_hot", True),
        (readings(end=2.5), "never_hot", False),
        (readings(end=3.2), "ends_hot", True),
        (readings(step=900.0), "far_apart", False),
        (readings(step=300.0), None, True),
        (readings(begin=2.0), None, False),  # begins at 330 °C, but comes to where stress flows
        (readings(begin=6.3), "begins_hot", False),  # in the soak
        (readings(without=[(2.0, 3.0)]), None, False),
        (readings(without=[(5.1, 5.9)]), None, False),
        (readings(without=[(7.0, 7.2)]), "silent", False),  # in the soak, where no stress flows
        (readings(without=[(8.5, 9.5)]), "silent", True),
        (readings(without=[(12.0, 13.0)]), None, True),  # below 427 °C it is settled
        (Recording(), "never_hot", False),
        (Recording([0.0, 60.0], [700.0, 699.0]), "never_hot", False),
    ],
)
def test_what_can_be_followed(recording: Recording, code: str | None, heating: bool) -> None:
    assert why(recording) == (code, heating)


def test_a_gap_that_the_reader_named_counts_however_short() -> None:
    whole = readings()
    named = Recording(whole.times, whole.temperatures, gaps=[(8.5 * HOUR, 8.5 * HOUR + 60)])
    assert why(named)[0] == "silent"


def test_silence_is_told_by_its_ends() -> None:
    unfollowed = follow(readings(without=[(8.5, 9.5)]), GLASS).unfollowed
    assert unfollowed.begin == pytest.approx(8.5 * HOUR, abs=60)
    assert unfollowed.end == pytest.approx(9.5 * HOUR, abs=60)


def test_no_stretch_reaches_across_a_gap() -> None:
    for gap in ((2.0, 3.0), (8.5, 9.5), (12.0, 13.0)):
        found = follow(readings(without=[gap]), GLASS)
        assert np.diff(found.times).max() <= 60.0


@pytest.mark.parametrize("gap", [(2.0, 3.0), (5.1, 5.6), (12.0, 13.0)])
def test_a_gap_elsewhere_changes_nothing_of_the_stress_left(gap: tuple[float, float]) -> None:
    whole = left(follow(readings(), GLASS))
    assert left(follow(readings(without=[gap]), GLASS)) == pytest.approx(whole, rel=0.02)


def test_stress_is_known_from_where_it_flows() -> None:
    found = follow(readings(begin=2.0), GLASS)
    shown = float(np.interp(found.since, found.times, found.temperatures))
    assert shown == pytest.approx(GLASS.annealing_point, abs=5)
    assert follow(readings(), GLASS).since == 0.0


def test_the_glass_is_followed_not_the_display() -> None:
    found = follow(readings(offset=8.0), GLASS, 8.0)
    assert found.temperatures.max() == pytest.approx(804.0, abs=2)
    ended = follow(readings(end=8.6, offset=8.0), GLASS, 8.0).unfollowed
    assert ended.begin == pytest.approx(460.0 - 8.0, abs=1.5)
    assert LUKEWARM > 20 + 8


@pytest.mark.parametrize("step", [5.0, 30.0, 60.0])
@pytest.mark.parametrize("thickness", [0.006, 0.012])
def test_noise_is_no_temperature_difference(step: float, thickness: float) -> None:
    def stiff_difference(recording: Recording) -> float:
        found = follow(recording, GLASS)
        stress = stress_over(found.times, found.temperatures, thickness, GLASS)
        cooling = (stress.faces < 470) & (stress.stress.times > 8.3 * HOUR)
        return float(stress.differences[cooling].max())

    quiet = stiff_difference(readings(step))
    assert stiff_difference(readings(step, noise=0.7)) == pytest.approx(quiet, abs=0.35)


def test_missing_values_are_no_readings() -> None:
    whole = readings()
    shown = whole.temperatures.copy()
    shown[(whole.times > 8.5 * HOUR) & (whole.times < 9.5 * HOUR)] = np.nan
    assert why(Recording(whole.times, shown))[0] == "silent"
