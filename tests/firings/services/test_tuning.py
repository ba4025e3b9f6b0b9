"""Repeated advice on hidden targets, beside an oracle and what people do without it.

Short forms: a few hundred runs leave a mean a few per cent of play, which the bounds allow for. The
full figures are those of `python -m tests.benchmarks.advice_runs`.
"""

from functools import partial
from statistics import mean

import pytest

from tests.simulation.tuning import World
from tests.simulation.tuning_scores import carry, in_two, reliability, run, scored

SEED = 5
COMPARED = ("oracle", "advice", "fixed 5 °C", "in proportion", "Robbins–Monro")


@pytest.fixture(scope="module")
def few():
    return {rule: run(rule, World(), SEED, range(40)) for rule in ("oracle", "advice")}


def test_the_first_as_wanted_comes_nearly_as_soon_as_for_one_who_knows(few):
    assert scored(few["advice"]).first < 1.35 * scored(few["oracle"]).first


def test_advice_settles_where_it_comes_out_as_wanted(few):
    assert scored(few["advice"]).late > 0.9 * scored(few["oracle"]).late
    assert scored(few["advice"]).well_past < scored(few["oracle"]).well_past + 0.15


def test_forecasts_come_true_about_as_often_as_they_say():
    found = reliability(run("advice or whim", World(), SEED, range(40)))
    assert found.farthest < 0.2  # bins of 56: two standard errors are 0.13
    assert found.skill > 0.10


@pytest.mark.slow
def test_advice_over_many_runs_reaches_its_figures():
    scores = {rule: scored(in_two(partial(run, rule, World(), 7), 800)) for rule in COMPARED}
    oracle, advice = scores["oracle"], scores["advice"]
    assert advice.first < 1.18 * oracle.first
    assert advice.first == min(score.first for rule, score in scores.items() if rule != "oracle")
    assert advice.after > 0.86 * oracle.after
    assert advice.late > 0.93 * oracle.late
    assert advice.well_past < oracle.well_past + 0.08


@pytest.mark.slow
@pytest.mark.parametrize(
    "world",
    [
        World(activation=420e3),
        World(noise_factor=2.0),
        World(drift=0.5),
        World(slips=0.02),
        World(recorded=(("peak_and_duration", 1.0),)),
    ],
)
def test_forecasts_hold_where_the_world_is_not_the_models(world):
    found = reliability(in_two(partial(run, "advice or whim", world, 7), 200))
    assert found.farthest < 0.10 + 0.06  # bins of 280: two standard errors are 0.06


@pytest.mark.slow
def test_another_kilns_history_saves_firings():
    carried = in_two(partial(carry, World(), 7), 300)
    nothing, unknown, measured, exactly = (mean(each) for each in zip(*carried, strict=True))
    assert exactly < measured < unknown < nothing
    assert nothing - measured > 0.4 * (nothing - exactly)
