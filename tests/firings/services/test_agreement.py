import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.agreement import agreement

VERDICTS = st.integers(-2, 2)


def test_nothing_in_common_is_none() -> None:
    assert agreement([]) is None


def test_counts_and_leaning() -> None:
    found = agreement([(2, 0), (0, 0), (-1, 0), (1, 0)])
    assert found is not None
    assert (found.pieces, found.same, found.within_one) == (4, 1, 3)
    assert (found.share, found.apart, found.leaning) == (0.25, 1.0, 0.5)


@given(st.lists(st.tuples(VERDICTS, VERDICTS), min_size=1))
def test_against_plain_statistics(pairs: list[tuple[int, int]]) -> None:
    found, turned = agreement(pairs), agreement([(b, a) for a, b in pairs])
    assert found is not None
    assert turned is not None
    assert found.leaning == pytest.approx(statistics.mean(a - b for a, b in pairs))
    assert turned.leaning == pytest.approx(-found.leaning)
    assert (turned.apart, turned.share) == (found.apart, found.share)
    assert found.same <= found.within_one <= found.pieces
