import numpy as np
import pytest
from scipy.stats import theilslopes

from firings.services.ageing import JudgedPeak, SeenRise, rise_trend, thermocouple_drift
from firings.services.display_agreement import Fitted, displays_agree


def rises(change, firings=20, scatter=0.03, seed=0, days=300.0):
    """A rise that changes by this share over a year of firings, with a usual scatter."""
    rng = np.random.default_rng(seed)
    at = np.linspace(0.0, days, firings)
    values = 300.0 * (1.0 + change) ** (at / days) * np.exp(rng.normal(0.0, scatter, firings))
    return [SeenRise(*pair) for pair in zip(at.tolist(), values.tolist(), strict=True)]


def test_a_kiln_that_lost_a_seventh_is_said_to():
    trend = rise_trend(rises(-0.14))
    assert trend.real
    assert trend.change == pytest.approx(-0.14, abs=0.03)
    assert trend.low < -0.14 < trend.high < 0
    assert trend.firings == 20


def test_a_steady_kiln_is_hardly_ever_said_to_age():
    told = [rise_trend(rises(0.0, seed=seed)).real for seed in range(200)]
    assert np.mean(told) < 0.02


def test_a_change_that_is_sure_but_small_is_no_news():
    trend = rise_trend(rises(-0.02, scatter=0.001))
    assert trend.high < 0
    assert not trend.real


def test_one_odd_firing_makes_no_trend():
    seen = rises(0.0, scatter=0.01)
    odd = [*seen[:-1], SeenRise(seen[-1].day, 150.0)]
    assert not rise_trend(odd).real
    assert rise_trend(odd).change == pytest.approx(rise_trend(seen).change, abs=0.02)


def test_the_trend_is_that_of_theil_and_sen():
    seen = rises(-0.1)
    days, values = [each.day for each in seen], [each.rise for each in seen]
    expected = theilslopes(np.log(values), days, alpha=0.99)
    trend = rise_trend(list(reversed(seen)))
    assert trend.change == pytest.approx(np.expm1(expected.slope * 300.0))
    assert trend.low == pytest.approx(np.expm1(expected.low_slope * 300.0))
    assert trend.per_year == pytest.approx(np.expm1(expected.slope * 365.25))


@pytest.mark.parametrize("seen", [[], rises(-0.5, firings=5), [SeenRise(1.0, 300.0)] * 9])
def test_too_few_firings_or_all_on_one_day_say_nothing(seen):
    assert rise_trend(seen) is None


def test_a_rise_is_positive():
    with pytest.raises(ValueError, match="positive"):
        rise_trend([SeenRise(0.0, 0.0)])


def judged(drift, firings=20, seed=0):
    """Verdicts by glass that gets hotter by `drift` °C over the firings at one displayed peak."""
    rng = np.random.default_rng(seed)
    at = np.arange(firings, dtype=float)
    peaks = rng.normal(0.0, 2.0, firings)
    felt = (peaks + drift * at / (firings - 1)) * 0.14 + rng.normal(0.0, 0.3, firings)
    verdicts = np.clip(np.round(felt), -2, 2)
    return [
        JudgedPeak(7.0 * day, peak, verdict)
        for day, peak, verdict in zip(at.tolist(), peaks.tolist(), verdicts.tolist(), strict=True)
    ]


def test_verdicts_that_leave_the_display_behind_hint_at_its_thermocouple():
    trend = thermocouple_drift(judged(14.0))
    assert trend.real
    assert trend.change == pytest.approx(14.0, abs=6.0)
    assert thermocouple_drift(judged(-14.0)).change < 0


def test_verdicts_that_follow_the_display_hint_at_nothing():
    told = [thermocouple_drift(judged(0.0, seed=seed)).real for seed in range(200)]
    assert np.mean(told) < 0.02


def test_few_verdicts_hint_at_nothing():
    assert thermocouple_drift(judged(14.0)[:5]) is None


def test_a_verdict_is_worth_something():
    with pytest.raises(ValueError, match="worth"):
        thermocouple_drift(judged(1.0), verdict_per_degree=0.0)


@pytest.mark.parametrize(("apart", "beyond"), [(6.4, False), (-6.4, False), (6.5, True)])
def test_two_new_thermocouples_may_differ_by_both_their_tolerances(apart, beyond):
    # Class 1 of type K at 804 °C: 0.4 %, 3.216 °C each (IEC 60584-1).
    k1 = Fitted("K", "IEC 1")
    seen = displays_agree(apart, 804.0, k1, k1)
    assert seen.allowed == pytest.approx(6.432)
    assert seen.beyond is beyond
    assert seen.first.tolerance_class == "IEC 1"
