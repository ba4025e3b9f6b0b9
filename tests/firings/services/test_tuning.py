"""Repeated advice on a hidden target, beside what people do without it."""

from statistics import mean

import pytest

from tests.firings.services.tuning_runs import (
    by_advice,
    by_fixed_step,
    by_proportion,
    firings_until_wanted,
    oracle,
    truths,
    tune,
)


def firings_needed(truth, rule, seed):
    return firings_until_wanted(tune(truth, rule, seed, 12, until_wanted=True))


def average(rule, hidden):
    return mean(firings_needed(truth, rule, seed) for seed, truth in enumerate(hidden))


def test_advice_needs_fewer_firings_than_a_fixed_step():
    hidden = truths(100, seed=5)
    by_note = average(by_advice, hidden)
    assert by_note < average(by_fixed_step, hidden)
    assert by_note < 2.8  # 2.3 for a rule that knows the target, 2.95 for a fixed 5 °C


def test_advice_settles_where_it_comes_out_as_wanted():
    hidden = truths(40, seed=6)
    late = [v for seed, truth in enumerate(hidden) for v in tune(truth, by_advice, seed, 14)[9:]]
    assert sum(v == 0 for v in late) / len(late) > 0.6  # 0.75 for a rule that knows the target
    assert sum(abs(v) == 2 for v in late) / len(late) < 0.03


@pytest.mark.slow
def test_advice_over_many_runs_lies_near_a_rule_that_knows_the_target():
    hidden = truths(400, seed=7)
    by_note = average(by_advice, hidden)
    knowing = mean(firings_needed(truth, oracle(truth), seed) for seed, truth in enumerate(hidden))
    assert by_note < 1.2 * knowing
    assert by_note < average(by_proportion, hidden)
    assert by_note < average(by_fixed_step, hidden)
