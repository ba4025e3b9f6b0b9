"""Nearest places and crops, against values worked by hand and what must hold of any."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.shelf_spots import (
    LARGEST,
    LEAST_PIXELS,
    SMALLEST,
    Box,
    Picture,
    Spot,
    crop_box,
    half_width_of,
    nearest,
    proposed,
)

FRACTION = st.floats(0.0, 1.0)
PICTURE = st.builds(Picture, st.integers(1, 3000), st.integers(1, 3000))
SPOT = st.builds(Spot, FRACTION, FRACTION, st.floats(SMALLEST, LARGEST))


def test_the_nearest_place_by_hand() -> None:
    """From (3, 4): 5 to the origin, √(9 + 16) = 5 to (6, 0), √(16 + 0) = 4 to (7, 4)."""
    places = {"origin": (0.0, 0.0), "right": (6.0, 0.0), "front": (7.0, 4.0)}
    assert nearest(3.0, 4.0, places) == "front"
    del places["front"]
    assert nearest(3.0, 4.0, places) == "origin"  # as near as the other, named first
    assert nearest(900.0, -3.0, places) == "right"


def test_no_place_is_nearest_where_there_is_none() -> None:
    with pytest.raises(ValueError, match="without places"):
        nearest(0.0, 0.0, {})
    with pytest.raises(ValueError, match="no point"):
        nearest(float("nan"), 0.0, {"centre": (0.0, 0.0)})


@given(st.dictionaries(st.integers(), st.tuples(FRACTION, FRACTION), min_size=1))
def test_on_a_place_that_place_is_meant(places: dict[int, tuple[float, float]]) -> None:
    for x, y in places.values():
        found = nearest(x, y, places)
        assert places[found] == pytest.approx((x, y), abs=1e-9)  # type: ignore[index]


def test_a_crop_by_hand() -> None:
    """Half-width 0.05 of 1000 px is 50; with its margin 65; so 130 px, raised to 160."""
    assert crop_box(Spot(0.5, 0.5, 0.05), Picture(1000, 1000)) == Box(420, 420, 580, 580)
    # 0.2 of 1000 is 200, 260 with its margin: 520 a side, moved in from the right.
    assert crop_box(Spot(0.9, 0.5, 0.2), Picture(1000, 800)) == Box(480, 140, 1000, 660)
    # Larger than the picture is high: cut to it.
    assert crop_box(Spot(0.5, 0.1, 0.5), Picture(1000, 400)) == Box(0, 0, 1000, 400)


@given(SPOT, PICTURE)
def test_a_crop_lies_in_the_picture_and_holds_its_spot(spot: Spot, picture: Picture) -> None:
    box = crop_box(spot, picture)
    assert 0 <= box.left < box.right <= picture.width
    assert 0 <= box.top < box.bottom <= picture.height
    assert box.left - 0.5 <= spot.x * picture.width <= box.right + 0.5
    assert box.top - 0.5 <= spot.y * picture.height <= box.bottom + 0.5
    assert box.right - box.left >= min(LEAST_PIXELS, picture.width)
    assert box.bottom - box.top >= min(LEAST_PIXELS, picture.height)


@given(SPOT, st.builds(Picture, st.integers(800, 3000), st.integers(800, 3000)))
def test_a_crop_holds_all_of_its_piece_that_the_picture_has(spot: Spot, picture: Picture) -> None:
    box, half = crop_box(spot, picture), spot.half_width * picture.width
    assert box.left <= max(spot.x * picture.width - half, 0.0) + 1
    assert box.right >= min(spot.x * picture.width + half, picture.width) - 1
    assert box.top <= max(spot.y * picture.height - half, 0.0) + 1
    assert box.bottom >= min(spot.y * picture.height + half, picture.height) - 1


def test_half_a_piece_by_hand() -> None:
    """200 mm of a shelf 500 wide and 450 deep. In 2000 × 1500 px the depth decides: 0.3 mm a px;
    half of the piece is 333.3 px, 1/6 of 2000."""
    assert half_width_of(200.0, (500.0, 450.0), Picture(2000, 1500)) == pytest.approx(1 / 6)
    # Upright, 1500 × 2000 px, the width decides: 1/3 mm a px; 300 px, 1/5 of 1500.
    assert half_width_of(200.0, (500.0, 450.0), Picture(1500, 2000)) == pytest.approx(1 / 5)
    assert half_width_of(3000.0, (500.0, 450.0), Picture(2000, 1500)) == LARGEST
    assert half_width_of(0.1, (500.0, 450.0), Picture(2000, 1500)) == SMALLEST


@pytest.mark.parametrize(
    ("x", "y", "half_width"),
    [
        (-0.01, 0.5, 0.1),
        (0.5, 1.01, 0.1),
        (0.5, float("nan"), 0.1),
        (0.5, 0.5, 0.01),
        (0.5, 0.5, 0.51),
    ],
)
def test_what_is_no_spot(x: float, y: float, half_width: float) -> None:
    with pytest.raises(ValueError, match=r"picture|half-width"):
        Spot(x, y, half_width)


def test_what_is_no_picture() -> None:
    with pytest.raises(ValueError, match="0 × 10"):
        Picture(0, 10)


def test_spots_go_over_to_a_picture_of_the_same_frame_alone() -> None:
    bowl, tile = Spot(0.2, 0.3, 0.1), Spot(0.7, 0.6, 0.2)
    known = {"bowl": bowl, "tile": tile}
    first = Picture(3000, 2250)
    assert proposed(known, first, Picture(1600, 1200)) == known
    assert proposed(known, first, Picture(1600, 1160)) == known  # 3.4 % off
    assert proposed(known, first, Picture(1600, 1120)) == {}  # 7.1 % off
    assert proposed(known, first, Picture(1200, 1600)) == {}
    assert proposed(known, first, first, ["bowl"]) == {"tile": tile}
    assert proposed({}, first, first) == {}
