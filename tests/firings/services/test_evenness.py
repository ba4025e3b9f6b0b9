from dataclasses import replace

import numpy as np
import pytest

from firings.services.evenness import PlaceTemperature, PlaceVerdict, evenness

DEGREE = 0.04


def measured(occasion: int, **places: float) -> list[PlaceTemperature]:
    return [PlaceTemperature(occasion, place, glass, 2.0) for place, glass in places.items()]


def judged(firing: int, place: str, verdict: int, above: float = 0.0) -> PlaceVerdict:
    return PlaceVerdict(firing, "fuse", place, verdict, -3.0 + DEGREE * above, 0.08, DEGREE)


def test_a_cold_place_is_found_with_its_size() -> None:
    shelf = evenness(
        [one for n in range(5) for one in measured(n, centre=804.0, left=803.0, front=790.0)],
        [],
        "centre",
    )
    assert shelf is not None
    assert shelf.coldest is not None
    assert shelf.coldest.place == "front"
    assert shelf.coldest.difference == pytest.approx(-14.0, abs=1.0)
    assert shelf.coldest.is_sure
    assert shelf.range == pytest.approx(14.0, abs=1.5)


def test_a_measurement_that_was_hotter_as_a_whole_says_nothing_of_places() -> None:
    runs = measured(0, centre=700.0, front=695.0) + measured(1, centre=900.0, front=895.0)
    shelf = evenness(runs, [], "centre")
    assert shelf is not None
    assert shelf.places[0].difference == pytest.approx(-5.0, abs=1.5)


def test_on_an_even_shelf_no_place_is_called_the_coldest() -> None:
    places = ("centre", "left", "right", "front")
    rng = np.random.default_rng(3)
    runs = [
        PlaceTemperature(n, place, 800.0 + float(rng.normal(0.0, 2.0)), 2.0)
        for n in range(4)
        for place in places
    ]
    shelf = evenness(runs, [], "centre")
    assert shelf is not None
    assert shelf.coldest is None
    assert not any(each.is_sure for each in shelf.places)


def test_verdicts_of_ordinary_firings_find_it_too() -> None:
    pieces = [judged(n, "centre", 0) for n in range(12)]
    pieces += [judged(n, "front", -2 if n % 2 else -1) for n in range(12)]
    pieces += [judged(n, "left", 0) for n in range(6)]
    shelf = evenness([], pieces, "centre")
    assert shelf is not None
    assert shelf.coldest is not None
    # A step and a half of verdict is 0.375 of ln W: some 9 °C at 0.04 a degree.
    assert shelf.coldest.difference == pytest.approx(-9.4, abs=2.5)
    assert shelf.coldest.pieces == 12


def test_what_a_hotter_firing_explains_is_no_matter_of_the_place() -> None:
    """In front there was fired 12 °C lower, two verdicts less: the place is as the others."""
    pieces = [judged(n, "centre", 0) for n in range(10)]
    pieces += [judged(100 + n, "front", -2, above=-12.0) for n in range(10)]
    shelf = evenness([], pieces, "centre")
    assert shelf is not None
    assert abs(next(each for each in shelf.places if each.place == "front").difference) < 3.0


def test_both_kinds_of_evidence_are_surer_than_one() -> None:
    runs = measured(0, centre=800.0, front=792.0)
    pieces = [judged(n, "centre", 0) for n in range(8)]
    pieces += [judged(n, "front", -1) for n in range(8)]
    alone, both = evenness(runs, [], "centre"), evenness(runs, pieces, "centre")
    assert alone is not None
    assert both is not None
    assert both.places[0].spread < alone.places[0].spread
    assert (both.places[0].readings, both.places[0].pieces) == (1, 8)


def test_a_shelf_without_its_reference_is_told_less_surely() -> None:
    shelf = evenness(measured(0, left=800.0, front=790.0), [], "centre")
    assert shelf is not None
    assert {each.place for each in shelf.places} == {"left", "front"}


@pytest.mark.parametrize("seen", [[], measured(0, centre=800.0)])
def test_one_place_is_no_shelf(seen: list[PlaceTemperature]) -> None:
    assert evenness(seen, [], "centre") is None


def test_the_same_evidence_gives_the_same_shelf_in_any_order() -> None:
    runs = measured(0, centre=800.0, left=803.0, front=790.0)
    one, other = evenness(runs, [], "centre"), evenness(runs[::-1], [], "centre")
    assert one is not None
    assert other is not None
    pairs = zip(one.places, other.places, strict=True)
    assert all(a.difference == pytest.approx(b.difference) for a, b in pairs)


@pytest.mark.parametrize(
    "wrong",
    [
        replace(judged(0, "front", 0), verdict=3),
        replace(judged(0, "front", 0), ln_heat_work=float("nan")),
    ],
)
def test_what_cannot_be_is_refused(wrong: PlaceVerdict) -> None:
    with pytest.raises(ValueError, match=r"verdict|heat work"):
        evenness([], [judged(0, "centre", 0), wrong], "centre")
    with pytest.raises(ValueError, match="doubt"):
        evenness([PlaceTemperature(0, "a", 800.0, 0.0)], [], "a")
