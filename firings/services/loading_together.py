"""Pieces that wait for a kiln, put into loads that can be fired together.

One load has one process, one family, about one thickness and no masses that lie far apart, and its
pieces lie side by side on the shelf. Whoever is wanted first, and has waited longest, leads.

Sources: one thickness and one family to a load, and the gaps between pieces, are common practice,
no source; that a row is as deep as its deepest piece is the shelf algorithm for strip packing
(Coffman, Garey, Johnson and Tarjan 1980, from memory).
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import sqrt

from firings.services.pieces import VERY_DIFFERENT_MASS

THICKNESSES_TOGETHER = 1.35
"""Times the thinnest piece's: 6 and 8 mm go together, 6 and 9 don't (our own figure)."""

GAP_MM = 15.0
"""Kept between pieces and to the shelf's edge (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """A piece that waits; millimetres. A piece without its size takes no room, and is counted."""

    piece: Hashable
    process: str
    family: Hashable
    thickest: float
    since: datetime
    wanted_by: date | None = None
    length: float | None = None
    width: float | None = None

    @property
    def volume(self) -> float | None:
        """mm³; pieces of one family have one density."""
        if self.length is None or self.width is None:
            return None
        return self.length * self.width * self.thickest


@dataclass(frozen=True)
class Shelf:
    """The room in one kiln, mm; in one that isn't rectangular, the widest square is used."""

    kiln: Hashable
    width: float
    depth: float
    rectangular: bool = True

    @property
    def sides(self) -> tuple[float, float]:
        shrink = 1.0 if self.rectangular else 1 / sqrt(2)
        return self.width * shrink, self.depth * shrink


@dataclass(frozen=True)
class TogetherLoad:
    """Pieces that can be fired together, those who lead first.

    Attributes
    ----------
    thinnest, thickest : mm, of the pieces' thickest points.
    kilns : in which all of them lie side by side, the smallest first; empty where a piece is too
        large for each.
    unsized : how many pieces have no size on record, for which room must be looked for.
    """

    process: str
    family: Hashable
    thinnest: float
    thickest: float
    pieces: tuple[Waiting, ...]
    kilns: tuple[Hashable, ...]
    unsized: int


def loads_together(waiting: Iterable[Waiting], shelves: Sequence[Shelf]) -> list[TogetherLoad]:
    """The loads, the most pressing first; every piece is in one of them.

    Examples
    --------
    >>> from datetime import UTC
    >>> day = datetime(2026, 3, 2, tzinfo=UTC)
    >>> usual = {"process": "slump", "family": "90", "since": day, "length": 200, "width": 200}
    >>> some = [Waiting(piece=n, thickest=t, **usual) for n, t in enumerate((6.0, 12.0, 6.0))]
    >>> loads = loads_together(some, [Shelf("Heron", 500, 450)])
    >>> [[one.piece for one in load.pieces] for load in loads]
    [[0, 2], [1]]
    """
    loads: list[list[Waiting]] = []
    for piece in sorted(waiting, key=_pressing):
        taker = next((load for load in loads if _may_join(piece, load, shelves)), None)
        if taker is None:
            loads.append([piece])
        else:
            taker.append(piece)
    return [_told(load, shelves) for load in loads]


def joining(load: Iterable[Waiting], waiting: Iterable[Waiting], shelf: Shelf) -> list[Waiting]:
    """Those that can still go into what lies in one kiln, each beside the ones before it.

    Examples
    --------
    >>> from datetime import UTC
    >>> day = datetime(2026, 3, 2, tzinfo=UTC)
    >>> usual = {"process": "slump", "family": "90", "since": day, "length": 200, "width": 200}
    >>> some = [Waiting(piece=n, thickest=t, **usual) for n, t in enumerate((6.0, 12.0, 6.0))]
    >>> [one.piece for one in joining(some[:1], some[1:], Shelf("Heron", 500, 450))]
    [2]
    """
    together, found = list(load), []
    for piece in sorted(waiting, key=_pressing):
        if _may_join(piece, together, [shelf]):
            together.append(piece)
            found.append(piece)
    return found


def shelf_takes(shelf: Shelf, pieces: Iterable[Waiting]) -> bool:
    """Whether the pieces lie side by side in rows, with gaps, each turned as it fits best."""
    width, depth = (side - GAP_MM for side in shelf.sides)
    return any(
        _rows_depth(pieces, across) <= along for across, along in ((width, depth), (depth, width))
    )


def _rows_depth(pieces: Iterable[Waiting], across: float) -> float:
    """Of the rows in which the pieces lie, mm; infinite where one is longer than a row."""
    sizes = [
        (one.length + GAP_MM, one.width + GAP_MM)
        for one in pieces
        if one.length is not None and one.width is not None
    ]
    # Lying along the row where it goes in, so that the rows stay shallow; the deepest first.
    laid = [
        (max(size), min(size)) if max(size) <= across else (min(size), max(size)) for size in sizes
    ]
    rows: list[tuple[float, float]] = []  # what is left of it, and its depth
    for along, deep in sorted(laid, key=lambda size: (-size[1], -size[0])):
        if along > across:
            return float("inf")
        for number, (left, row_depth) in enumerate(rows):
            if along <= left:
                rows[number] = (left - along, row_depth)
                break
        else:
            rows.append((across - along, deep))
    return sum(row_depth for _, row_depth in rows)


def _may_join(piece: Waiting, load: Sequence[Waiting], shelves: Sequence[Shelf]) -> bool:
    if any((piece.process, piece.family) != (one.process, one.family) for one in load):
        return False
    together = [*load, piece]
    thick = [one.thickest for one in together]
    if max(thick) > THICKNESSES_TOGETHER * min(thick):
        return False
    volumes = [one.volume for one in together if one.volume is not None]
    if volumes and max(volumes) >= VERY_DIFFERENT_MASS * min(volumes):
        return False
    return any(shelf_takes(shelf, together) for shelf in shelves)


def _told(load: Sequence[Waiting], shelves: Sequence[Shelf]) -> TogetherLoad:
    thick = [one.thickest for one in load]
    taking = [shelf for shelf in shelves if shelf_takes(shelf, load)]
    return TogetherLoad(
        process=load[0].process,
        family=load[0].family,
        thinnest=min(thick),
        thickest=max(thick),
        pieces=tuple(load),
        kilns=tuple(
            shelf.kiln for shelf in sorted(taking, key=lambda one: one.sides[0] * one.sides[1])
        ),
        unsized=sum(one.volume is None for one in load),
    )


def _pressing(piece: Waiting) -> tuple[date, datetime]:
    return piece.wanted_by or date.max, piece.since
