"""Test series on hidden targets: what they tell is as sure as it says, in the model's own world.

Short forms: the full figures are those of `python -m tests.benchmarks.series_runs`.
"""

from functools import partial

import pytest

from firings.services.verdict_model import SITTING_SHARE
from tests.benchmarks.series_runs import scored
from tests.simulation.ladders import ladder
from tests.simulation.tuning import World
from tests.simulation.tuning_scores import in_two

SEED = 5


def test_what_a_series_tells_is_as_sure_as_it_says():
    found = scored(ladder("series", World(), SITTING_SHARE, SEED, range(30)))
    assert 0.6 < found.against_doubt < 1.4  # 30 runs: two standard errors are a quarter
    assert found.sittings < found.first


@pytest.mark.slow
def test_a_series_tells_more_than_as_many_firings_as_it_stands():
    def of(way):
        return scored(in_two(partial(ladder, way, World(), SITTING_SHARE, 7), 300))

    series, alike, tuned = of("series"), of("as it stands"), of("one by one")
    assert series.ninetieth < alike.ninetieth
    assert series.sittings < tuned.sittings
    assert series.against_doubt < 1.15
