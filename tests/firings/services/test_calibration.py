"""Scores of forecasts against values worked by hand and a general-purpose library."""

import numpy as np
import pytest
from scipy.stats import binomtest

from firings.services.calibration import (
    LEAST,
    LEAST_IN_BIN,
    calibrate,
    expected_counts,
    share_interval,
)


def test_the_score_is_the_mean_square_of_what_was_missed() -> None:
    # (0.2² + 0.1² + 0.6² + 0.3²) / 4 = 0.5 / 4; base rate 0.5: 0.25
    found = calibrate([0.8, 0.9, 0.6, 0.3], [True, True, False, False])

    assert found is not None
    assert found.brier == pytest.approx(0.125)
    assert found.brier_of_base_rate == pytest.approx(0.25)
    assert found.skill == pytest.approx(0.5)
    assert found.base_rate == 0.5


def test_who_always_says_the_base_rate_has_no_skill() -> None:
    found = calibrate([0.25] * 40, [True, False, False, False] * 10)

    assert found is not None
    assert found.skill == pytest.approx(0.0)
    assert found.worth == "no_telling"
    assert found.told == "as_said"


@pytest.mark.parametrize("came", [True, False])
def test_where_all_came_alike_nobody_could_do_better(came: bool) -> None:
    found = calibrate([0.7] * 40, [came] * 40)

    assert found is not None
    assert (found.skill, found.skill_doubt, found.worth) == (None, None, "no_telling")


def test_forecasts_that_know_are_better_and_those_that_know_the_contrary_worse() -> None:
    came = np.array([True, False] * 20)

    assert calibrate(np.where(came, 0.9, 0.1), came).worth == "better"  # type: ignore[union-attr]
    assert calibrate(np.where(came, 0.1, 0.9), came).worth == "worse"  # type: ignore[union-attr]


def test_few_are_not_judged() -> None:
    came = [True, False] * (LEAST // 2)
    chances = np.where(came, 0.9, 0.1)

    assert calibrate(chances[:-1], came[:-1]).worth == "too_few"  # type: ignore[union-attr]
    assert calibrate(chances[:-1], came[:-1]).told == "too_few"  # type: ignore[union-attr]
    assert calibrate(chances, came).is_enough  # type: ignore[union-attr]
    assert calibrate([0.5], [True]).skill is None  # type: ignore[union-attr]
    assert calibrate([], []) is None


@pytest.mark.parametrize(
    ("came", "told"),
    [(14, "as_said"), (20, "more_often"), (7, "less_often")],  # 14 ± 1.96 × 2.05 of 20 at 0.7
)
def test_a_bin_is_held_against_what_it_said(came: int, told: str) -> None:
    found = calibrate([0.7] * 20, [True] * came + [False] * (20 - came))

    assert found is not None
    (only,) = found.bins
    assert (only.told, only.came, only.forecasts) == (told, came, 20)
    assert only.said == pytest.approx(0.7)


def test_a_bin_with_few_is_not_held_against_anything() -> None:
    found = calibrate([0.7] * (LEAST_IN_BIN - 1), [False] * (LEAST_IN_BIN - 1))

    assert found is not None
    assert found.bins[0].told == "too_few"


def test_edges_belong_to_the_bin_above_and_certainty_to_the_last() -> None:
    found = calibrate([0.0, 0.2, 0.4, 0.999, 1.0], [False, False, True, True, True])

    assert found is not None
    assert [(round(each.low, 1), each.forecasts) for each in found.bins] == [
        (0.0, 1),
        (0.2, 1),
        (0.4, 1),
        (0.8, 2),
    ]


@pytest.mark.parametrize("bins", [1, 5, 10])
def test_bins_hold_each_forecast_once(bins: int) -> None:
    chances = np.random.default_rng(3).uniform(size=500)
    came = np.random.default_rng(4).uniform(size=500) < chances

    found = calibrate(chances, came, bins)

    assert found is not None
    assert sum(each.forecasts for each in found.bins) == 500
    assert sum(each.came for each in found.bins) == found.came
    assert found.worth == "better"


def test_right_chances_are_called_wrong_about_once_in_twenty() -> None:
    draws = np.random.default_rng(3)
    told = []
    for _ in range(400):
        chances = draws.uniform(0.2, 0.9, size=60)
        found = calibrate(chances, draws.uniform(size=60) < chances)
        assert found is not None
        told.append(found.told)

    # 400 × 0.05 = 20 ± 2 × 4.4; a count in whole firings jumps a little around it
    assert 8 <= sum(each != "as_said" for each in told) <= 34


@pytest.mark.parametrize("of", [1, 7, 23, 400])
@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_the_interval_is_wilsons(of: int, share: float) -> None:
    came = round(share * of)
    library = binomtest(came, of).proportion_ci(0.95, method="wilson")

    # 1.96 for 1.959964: below a ten-thousandth of the interval
    assert share_interval(came, of) == pytest.approx((library.low, library.high), abs=1e-4)


@pytest.mark.parametrize(
    ("chances", "came"),
    [([1.2], [True]), ([-0.1], [True]), ([float("nan")], [True]), ([0.5], [True, False])],
)
def test_what_is_no_chance_is_refused(chances: list[float], came: list[bool]) -> None:
    with pytest.raises(ValueError, match="chance"):
        calibrate(chances, came)


def test_no_forecasts_expect_no_counts() -> None:
    assert expected_counts([]) == ()
