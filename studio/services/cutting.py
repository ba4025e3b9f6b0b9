"""How much glass a piece takes: layers cut out of sheet, and the mass of a footprint."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from studio.services.stock import Rectangle, TooLittleError, offcuts_of, worth_keeping

_MG_PER_MM3 = 1e-3  # of 1 kg/m³


@dataclass(frozen=True)
class SheetThere:
    """Pieces of one size in one lot."""

    lot: Hashable
    size: Rectangle
    pieces: int


@dataclass(frozen=True)
class Cut:
    """One layer cut: out of which piece, and what goes back to the same lot."""

    lot: Hashable
    sheet: Rectangle
    offcuts: tuple[Rectangle, ...]


def cut_layers(there: Sequence[SheetThere], wanted: Rectangle, layers: int) -> list[Cut]:
    """One cut a layer, each out of the smallest piece that holds it, offcuts of the cuts before
    among them; mere strips do not go back (`worth_keeping`).

    Parameters
    ----------
    there : the lot that came first first; it decides between pieces of one size
    wanted : mm, the size of a layer
    layers : above 0

    Returns
    -------
    in the order in which they are cut, shape (layers,)

    Raises
    ------
    ValueError
        for a number of layers that is not above 0
    TooLittleError
        where not all can be cut; `.there` is the number of layers that can

    >>> whole, offcut = Rectangle(500, 400), Rectangle(200, 130)
    >>> there = [SheetThere("old", whole, 1), SheetThere("new", offcut, 1)]
    >>> [(cut.lot, cut.offcuts) for cut in cut_layers(there, Rectangle(190, 120), 2)]
    ... # doctest: +NORMALIZE_WHITESPACE
    [('new', ()),
     ('old', (Rectangle(length=400, width=380), Rectangle(length=210, width=120)))]

    Source: geometry; small pieces are used up first (common practice, no source).
    """
    if layers <= 0:
        raise ValueError("At least one layer is cut.")
    left: dict[tuple[Hashable, Rectangle], int] = {}  # in the order of the lots
    for each in there:
        if each.size.holds(wanted):
            left[each.lot, each.size] = left.get((each.lot, each.size), 0) + each.pieces
    cuts: list[Cut] = []
    while len(cuts) < layers:
        holding = [piece for piece, pieces in left.items() if pieces > 0]
        if not holding:
            raise TooLittleError(len(cuts))
        lot, sheet = min(holding, key=lambda piece: piece[1].area)
        left[lot, sheet] -= 1
        kept = worth_keeping(offcuts_of(sheet, wanted))
        for offcut in kept:
            if offcut.holds(wanted):
                left[lot, offcut] = left.get((lot, offcut), 0) + 1
        cuts.append(Cut(lot, sheet, tuple(kept)))
    return cuts


def mass_of(footprint: Rectangle, thickness: float, density: float) -> int:
    """What a slab of glass weighs, in whole mg.

    Parameters
    ----------
    footprint : mm
    thickness : mm, above 0
    density : kg/m³, above 0

    Raises
    ------
    ValueError
        for a thickness or a density that is not above 0

    >>> mass_of(Rectangle(100, 100), 10.0, 2500.0)
    250000

    Source: volume times density.
    """
    if not (thickness > 0 and density > 0):
        raise ValueError("Thickness and density lie above 0.")
    return round(footprint.area * thickness * density * _MG_PER_MM3)
