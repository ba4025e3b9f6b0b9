"""Layers cut out of what is on the shelf, and what a footprint weighs."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.cutting import SheetThere, cut_layers, mass_of
from studio.services.stock import Rectangle, TooLittleError

SIDES = st.integers(30, 600)
SHELF = st.lists(
    st.builds(SheetThere, st.integers(1, 3), st.builds(Rectangle, SIDES, SIDES), st.integers(1, 3)),
    max_size=5,
)


@given(there=SHELF, wanted=st.builds(Rectangle, SIDES, SIDES), layers=st.integers(1, 6))
def test_each_cut_finds_its_piece_and_no_glass_is_made(
    there: list[SheetThere], wanted: Rectangle, layers: int
) -> None:
    left: Counter[tuple[object, Rectangle]] = Counter()
    for each in there:
        left[each.lot, each.size] += each.pieces
    before = sum(size.area * pieces for (_, size), pieces in left.items())
    try:
        cuts = cut_layers(there, wanted, layers)
    except TooLittleError as too_little:
        assert too_little.there < layers  # noqa: PT017  it may also be enough
        return
    assert len(cuts) == layers
    for cut in cuts:
        assert cut.sheet.holds(wanted)
        assert left[cut.lot, cut.sheet] > 0
        assert cut.sheet.area >= wanted.area + sum(offcut.area for offcut in cut.offcuts)
        left[cut.lot, cut.sheet] -= 1
        for offcut in cut.offcuts:
            left[cut.lot, offcut] += 1
    after = sum(size.area * pieces for (_, size), pieces in left.items())
    assert after <= before - layers * wanted.area


def test_as_many_as_go_are_told_where_it_is_too_little() -> None:
    """Of 500 × 400 two of 400 × 250 come: 400 × 250 leaves 400 × 250, and then a 100 × 250."""
    with pytest.raises(TooLittleError) as told:
        cut_layers([SheetThere("lot", Rectangle(500, 400), 1)], Rectangle(400, 250), 3)
    assert told.value.there == 2


@pytest.mark.parametrize("layers", [0, -1])
def test_no_layer_is_no_cut(layers: int) -> None:
    with pytest.raises(ValueError, match="At least one layer"):
        cut_layers([], Rectangle(10, 10), layers)


def test_a_cubic_decimetre_of_soda_lime_weighs_two_and_a_half_kilograms() -> None:
    # 1 dm³ × 2.5 kg/dm³, in mg
    assert mass_of(Rectangle(100, 100), 100.0, 2500.0) == 2_500_000
    with pytest.raises(ValueError, match="above 0"):
        mass_of(Rectangle(100, 100), 0.0, 2500.0)
