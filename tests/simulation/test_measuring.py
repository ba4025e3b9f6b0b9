"""The promise of measuring a kiln, on kilns of which the truth is known."""

import pytest

from tests.simulation.measuring import (
    FOUND_AT_LEAST,
    HELD_AT_LEAST,
    PLACES_AT_LEAST,
    WRONG_AT_MOST,
    score,
)


@pytest.mark.parametrize(
    "kilns", [pytest.param(20, id="short"), pytest.param(100, id="long", marks=pytest.mark.slow)]
)
def test_offset_and_coldest_place_are_found_as_promised(kilns: int) -> None:
    scored = score(kilns, seed=1)
    assert scored.held >= HELD_AT_LEAST
    assert scored.strips_held >= HELD_AT_LEAST
    assert scored.found >= FOUND_AT_LEAST
    assert scored.wrong <= WRONG_AT_MOST
    assert scored.places_held >= PLACES_AT_LEAST
