from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.stock import (
    HeldLot,
    Rectangle,
    TooLittleError,
    cost_of,
    draw_first_in,
    fit_together,
    offcuts_of,
)

side = st.integers(1, 3000)
rectangles = st.builds(Rectangle, side, side)


@given(rectangles, side, side)
def test_a_piece_holds_either_way_round(sheet: Rectangle, length: int, width: int) -> None:
    plainly = (sheet.length >= length and sheet.width >= width) or (
        sheet.length >= width and sheet.width >= length
    )
    assert sheet.holds(Rectangle(length, width)) == plainly


@given(rectangles, rectangles)
def test_offcuts_and_piece_are_the_sheet(sheet: Rectangle, wanted: Rectangle) -> None:
    if not sheet.holds(wanted):
        with pytest.raises(ValueError, match="does not hold"):
            offcuts_of(sheet, wanted)
        return
    left = offcuts_of(sheet, wanted)
    assert sum(each.area for each in left) + wanted.area == sheet.area
    assert fit_together(sheet, [wanted, *left])


def test_a_side_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        Rectangle(0, 5)


@given(
    st.lists(st.tuples(st.integers(0, 500), st.integers(1, 1000)), max_size=6),
    st.integers(1, 3000),
)
def test_first_in_empties_before_the_next_is_touched(
    rows: list[tuple[int, int]], asked: int
) -> None:
    lots = [HeldLot(at, left, got, Decimal(10)) for at, (left, got) in enumerate(rows)]
    there = sum(left for left, _ in rows)
    if asked > there:
        with pytest.raises(TooLittleError) as told:
            draw_first_in(lots, asked)
        assert told.value.there == there
        return
    drawn = draw_first_in(lots, asked)
    assert sum(each.amount for each in drawn) == asked
    keys = [each.key for each in drawn]
    assert keys == [at for at, (left, _) in enumerate(rows[: keys[-1] + 1]) if left]  # type: ignore[operator]
    assert all(each.amount == rows[each.key][0] for each in drawn[:-1])  # type: ignore[index]


def test_cost_by_hand() -> None:
    # 2 kg for 37.00: 18.50 a kg, so 150 g carry 2.775, unrounded.
    assert cost_of(150_000, 2_000_000, Decimal("37.00")) == Decimal("2.775")
    assert cost_of(150_000, 2_000_000, None) is None
    with pytest.raises(ValueError, match="no price"):
        cost_of(1, 0, Decimal(1))
