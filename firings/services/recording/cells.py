"""Cells as bytes of one width, grouped by shape, so that each shape is understood once.

The shape of a cell is the cell with every digit written as 0: all of a logger's times have one
shape, or a few. A regular expression reads the shape; its digits are then taken from all rows at
once.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Cells = NDArray[np.bytes_]
Rows = NDArray[np.intp] | slice

WIDEST = 64
"""B of a cell; what is longer is no time and no temperature."""
MOST_SHAPES = 400
"""Shapes that are looked at, the commonest first; a rarer cell counts as not understood."""

_ZERO = np.uint8(ord("0"))
_TEN = np.uint8(10)
_BLOCK = 32_768
_MIX = np.uint64(0x9E3779B97F4A7C15)
"""An odd number with its bits well spread (2⁶⁴ divided by the golden ratio)."""


@dataclass(frozen=True)
class ShapeGroup:
    """Cells of one shape.

    Parameters
    ----------
    shape : the cell with its digits as 0, one character a byte
    rows : which rows these are
    digits : their bytes, shape (rows, width)
    """

    shape: str
    rows: Rows
    digits: NDArray[np.uint8]

    @property
    def count(self) -> int:
        """How many cells there are.

        Examples
        --------
        >>> next(shape_groups(cells_of(["1,5", "2,5"]))).count
        2
        """
        return len(self.digits)

    def number(self, places: Sequence[int]) -> NDArray[np.integer[Any]]:
        """The whole number whose digits stand at some places.

        Parameters
        ----------
        places : from 0, at most 18 of them

        Returns
        -------
        Shape (rows,).

        Examples
        --------
        >>> next(shape_groups(cells_of(["1,5", "2,7"]))).number([0, 2]).tolist()
        [15, 27]
        """
        value: NDArray[Any] = np.zeros(self.count, np.int64 if len(places) > 7 else np.int32)
        for place in places:
            value *= 10
            value += self.digits[:, place]
        value -= int(_ZERO) * sum(10**power for power in range(len(places)))
        return value

    def texts(self) -> Cells:
        """The cells themselves, shape (rows,).

        Examples
        --------
        >>> next(shape_groups(cells_of(["1,5", "2,5"]))).texts().tolist()
        [b'1,5', b'2,5']
        """
        width = self.digits.shape[1]
        return np.ascontiguousarray(self.digits).view(f"S{width}").reshape(-1)


def cells_of(texts: Sequence[str]) -> Cells:
    """Texts as cells; what is too wide is cut, so that it fills its cell and is not understood.

    Examples
    --------
    >>> cells_of(["20.5", "°C"]).tolist()
    [b'20.5', b'\\xc2\\xb0C']
    """
    return np.array([text.encode()[:WIDEST] for text in texts], dtype=f"S{WIDEST}")


def width_for(widest: int) -> int:
    """A width for cells, B, in whole words of 8 B and with room for a few B more.

    Parameters
    ----------
    widest : B of the widest cell that was seen

    Examples
    --------
    >>> width_for(4), width_for(6), width_for(1000)
    (8, 16, 64)
    """
    return min(WIDEST, (widest + 11) // 8 * 8)


def shape_groups(cells: Cells) -> Iterator[ShapeGroup]:
    """The shapes of cells, the commonest first; empty cells and the rarest shapes are left out.

    Examples
    --------
    >>> [(group.shape, group.count) for group in shape_groups(cells_of(["1,5", "2,5", "OPEN", ""]))]
    [('0,0', 2), ('OPEN', 1)]
    """
    if not cells.size:
        return
    width = cells.dtype.itemsize
    bytes_ = np.ascontiguousarray(cells).view(np.uint8).reshape(-1, width)
    keys = _keys(bytes_)
    if (keys == keys[0]).all():
        yield from _group(slice(None), bytes_)
        return
    from pandas import factorize  # takes as long to load as all the rest, so only for a file

    codes, unique = factorize(keys)
    counts = np.bincount(codes, minlength=len(unique))
    by_code = np.argsort(codes, kind="stable")
    starts = np.concatenate(([0], np.cumsum(counts)))
    for code in np.argsort(-counts, kind="stable")[:MOST_SHAPES]:
        rows = by_code[starts[code] : starts[code + 1]]
        yield from _group(rows, bytes_[rows])


def _shapes(bytes_: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.where((bytes_ - _ZERO) < _TEN, _ZERO, bytes_)


def _keys(bytes_: NDArray[np.uint8]) -> NDArray[np.uint64]:
    """A number for the shape of each cell, worked out in blocks that stay near the processor."""
    keys = np.empty(len(bytes_), dtype=np.uint64)
    for start in range(0, len(bytes_), _BLOCK):
        words = _shapes(bytes_[start : start + _BLOCK]).view(np.uint64)
        block = keys[start : start + _BLOCK]
        block[:] = words[:, 0]
        for place in range(1, words.shape[1]):
            block *= _MIX
            block ^= words[:, place]
    return keys


def _group(rows: Rows, digits: NDArray[np.uint8]) -> Iterator[ShapeGroup]:
    shape = _shapes(digits[0])
    text = shape.tobytes().rstrip(b"\0").decode("latin-1")
    if text.strip() and len(text) < shape.size:  # a full cell was cut
        yield ShapeGroup(text, rows, digits)
