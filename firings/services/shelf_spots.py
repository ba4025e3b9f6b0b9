"""Where pieces lie on a map or a photograph of the shelf, and what of it shows one piece.

Points of a photograph are fractions of its width, from the left, and of its height, from the top:
they stay the same however large it is shown. Lengths are fractions of its width.

Source: our own geometry; how much is left around a piece is our choice.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from math import hypot, inf, isfinite
from typing import TypeVar

from studio.services.picture_box import Box

Name = TypeVar("Name", bound=Hashable)

SMALLEST, LARGEST = 0.02, 0.5
"""Half-widths of a spot: half of the picture's width is all of it."""
UNKNOWN = 0.125
"""Half-width of a piece without a size on record: a quarter of the picture's width in all."""
MARGIN = 1.3
"""Times the piece: it may lie askew, and whoever tapped may have missed its middle."""
LEAST_PIXELS = 160
"""To a side: less shows nothing on a phone."""
SAME_FRAME = 1.05
"""Ratio of two pictures' proportions up to which they may show the shelf in the same frame."""


@dataclass(frozen=True)
class Spot:
    """A piece on a photograph.

    Attributes
    ----------
    x, y : of its middle, 0 to 1
    half_width : half of its longest side, of the picture's width
    """

    x: float
    y: float
    half_width: float

    def __post_init__(self) -> None:
        if not (0.0 <= self.x <= 1.0 and 0.0 <= self.y <= 1.0):
            raise ValueError(f"({self.x}, {self.y}) lies outside of the picture: 0 to 1")
        if not SMALLEST <= self.half_width <= LARGEST:
            raise ValueError(f"half-width {self.half_width} is not {SMALLEST} to {LARGEST}")


@dataclass(frozen=True)
class Picture:
    """A picture's size, in pixels."""

    width: int
    height: int

    def __post_init__(self) -> None:
        if self.width < 1 or self.height < 1:
            raise ValueError(f"a picture of {self.width} × {self.height} pixels shows nothing")


def nearest(x: float, y: float, places: Mapping[Name, tuple[float, float]]) -> Name:
    """The place nearest to a point, by its name; of two as near, the one named first.

    Parameters
    ----------
    x, y : in the same lengths as the places

    Raises
    ------
    ValueError: where there is no place, or the point is nowhere.

    Examples
    --------
    >>> nearest(30.0, 40.0, {"back": (50.0, 10.0), "centre": (50.0, 50.0)})
    'centre'
    """
    if not (isfinite(x) and isfinite(y)):
        raise ValueError(f"({x}, {y}) is no point")
    found: Name | None = None
    least = inf
    for name, (at_x, at_y) in places.items():
        away = hypot(at_x - x, at_y - y)
        if away < least:
            found, least = name, away
    if found is None:
        raise ValueError("a shelf without places has none that is nearest")
    return found


def half_width_of(
    longest_mm: float | None, shelf_mm: tuple[float, float], picture: Picture
) -> float:
    """Half of a piece's longest side as a fraction of the picture's width.

    It is taken that the picture shows the whole shelf and hardly more; a crop has a margin because
    that is seldom so.

    Parameters
    ----------
    longest_mm : of the piece; None where it is not on record
    shelf_mm : width and depth

    Examples
    --------
    >>> half_width_of(100.0, (500.0, 400.0), Picture(2000, 1600))
    0.1
    >>> half_width_of(None, (500.0, 400.0), Picture(2000, 1600))
    0.125
    """
    if longest_mm is None:
        return UNKNOWN
    width_mm, depth_mm = shelf_mm
    mm_a_pixel = max(width_mm / picture.width, depth_mm / picture.height)
    half = longest_mm / 2 / mm_a_pixel / picture.width
    return min(max(half, SMALLEST), LARGEST)


def crop_box(spot: Spot, picture: Picture) -> Box:
    """What of a picture shows a piece: a square around its middle, moved into the picture where it
    would reach beyond, and cut to the picture where it is larger than that.

    Examples
    --------
    >>> crop_box(Spot(0.5, 0.5, 0.1), Picture(2000, 1600))
    Box(left=740, top=540, right=1260, bottom=1060)
    >>> crop_box(Spot(0.0, 1.0, 0.1), Picture(2000, 1600))
    Box(left=0, top=1080, right=520, bottom=1600)
    """
    side = max(round(2 * spot.half_width * MARGIN * picture.width), LEAST_PIXELS)
    left, right = _span(spot.x, side, picture.width)
    top, bottom = _span(spot.y, side, picture.height)
    return Box(left, top, right, bottom)


def _span(at: float, side: int, whole: int) -> tuple[int, int]:
    length = min(side, whole)
    first = min(max(round(at * whole - length / 2), 0), whole - length)
    return first, first + length


def proposed(
    known: Mapping[Name, Spot], on: Picture, to: Picture, there: Iterable[Name] = ()
) -> dict[Name, Spot]:
    """Where pieces lie on a second picture of a shelf, by where they lie on a first one.

    It is taken that both show it in the same frame, with which proportions that differ don't go:
    then nothing is proposed. What is on the second already (`there`) is left out.

    Examples
    --------
    >>> known = {"bowl": Spot(0.2, 0.3, 0.1), "tile": Spot(0.7, 0.6, 0.1)}
    >>> list(proposed(known, Picture(2000, 1500), Picture(1000, 750), ["tile"]))
    ['bowl']
    >>> proposed(known, Picture(2000, 1500), Picture(1500, 2000))
    {}
    """
    ratio = (on.width / on.height) / (to.width / to.height)
    if not 1 / SAME_FRAME <= ratio <= SAME_FRAME:
        return {}
    taken = set(there)
    return {piece: spot for piece, spot in known.items() if piece not in taken}
