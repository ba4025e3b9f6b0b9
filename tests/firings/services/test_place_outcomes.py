import pytest

from firings.services.place_outcomes import PlacedVerdict, place_outcomes


def pieces(place: str, *verdicts: int, expected: float | None = 0.0) -> list[PlacedVerdict]:
    return [PlacedVerdict(place, verdict, expected) for verdict in verdicts]


def test_a_cold_place_stands_out_from_the_rest() -> None:
    outcomes = place_outcomes(pieces("centre", 0, 0, 1, -1) + pieces("front", -1, -1, -2, -1))

    assert outcomes["front"].is_apart
    assert outcomes["front"].apart == pytest.approx(-1.25)
    assert not outcomes["centre"].is_apart


def test_what_the_heat_work_explains_is_no_matter_of_the_place() -> None:
    outcomes = place_outcomes(pieces("front", -1, -1, -1, -1, expected=-1.1))

    assert outcomes["front"].middle == -1
    assert not outcomes["front"].is_apart


def test_two_pieces_make_no_cold_place() -> None:
    assert not place_outcomes(pieces("front", -2, -2))["front"].is_apart


def test_without_an_expectation_nothing_is_said_of_the_place() -> None:
    outcome = place_outcomes(pieces("front", -1, -1, 0, expected=None))["front"]

    assert (outcome.pieces, outcome.counts, outcome.middle) == (3, {-1: 2, 0: 1}, -1)
    assert (outcome.apart, outcome.is_apart) == (None, False)


@pytest.mark.parametrize(("verdicts", "middle"), [((-1, 0), 0), ((0, 1), 0), ((-2, -1), -1)])
def test_between_two_verdicts_the_nearer_to_as_wanted(
    verdicts: tuple[int, int], middle: int
) -> None:
    assert place_outcomes(pieces("left", *verdicts))["left"].middle == middle


def test_a_verdict_beyond_the_scale_is_refused() -> None:
    with pytest.raises(ValueError, match="no verdict"):
        place_outcomes(pieces("left", 3))


def test_no_pieces_no_places() -> None:
    assert place_outcomes([]) == {}
