"""How the pieces of one firing become one verdict."""

import statistics
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

# Added to the standard deviation of ln(heat work), in quadrature; our own estimates.
OTHER_PIECE_UNCERTAINTY = 0.15  # a piece for which the schedule was not written, about 4 °C
OTHER_PLACE_UNCERTAINTY = 0.10  # a shelf differs by some 3 °C from middle to edge

VERY_DIFFERENT_MASS = 4.0
"""Times the lightest piece's, from which a load is better fired in two (common practice, no source;
the figure is our own: as 3 mm against 12 mm, or a coaster against a platter)."""


@dataclass(frozen=True, kw_only=True)
class JudgedPiece:
    """One piece of a load as somebody judged it; `verdict` None is "not judged yet".

    Attributes
    ----------
    verdict : −2 to +2, or None.
    served : the schedule serves this piece.
    by_instructor : an instructor gave the verdict, not the maker.
    at_reference_place : it lay where the kiln's shelf is judged by.
    faults : codes of what else went wrong with it.
    place, thickness_class : where it lay, and how thick it is, if known.
    mass : kg, if known.
    sitting : names the sitting at which it was judged beside the other tiles of a test series.
    """

    verdict: int | None
    served: bool = False
    by_instructor: bool = False
    at_reference_place: bool = False
    faults: tuple[str, ...] = ()
    place: Hashable | None = None
    thickness_class: Hashable | None = None
    mass: float | None = None
    sitting: Hashable | None = None


@dataclass(frozen=True)
class CombinedVerdict:
    """One verdict for a firing.

    Attributes
    ----------
    verdict : −2 to +2.
    uncertainty : standard deviation of ln(heat work) that the choice of piece adds.
    faults : the codes seen on the pieces that decided, each once.
    place, thickness_class : those of the deciding pieces where they agree, else None.
    mass_ratio : of the heaviest piece to the lightest, where that is more than one firing can suit
        and the pieces did not come out alike; else None.
    sitting : that of the deciding pieces where they agree, else None.
    """

    verdict: int
    uncertainty: float
    faults: tuple[str, ...] = ()
    place: Hashable | None = None
    thickness_class: Hashable | None = None
    mass_ratio: float | None = None
    sitting: Hashable | None = None


def combine_pieces(pieces: Sequence[JudgedPiece]) -> CombinedVerdict | None:
    """Combine a firing's pieces into one verdict.

    The piece that the schedule serves decides before others; among equals an instructor's verdict
    before the maker's, then the reference place before other places. Several equals give their
    median; between two verdicts it is the one nearer to "as wanted".

    Returns
    -------
    The verdict, or None where no piece is judged.

    Examples
    --------
    >>> combine_pieces([JudgedPiece(verdict=None, served=True)]) is None
    True
    >>> combine_pieces([JudgedPiece(verdict=1, served=True), JudgedPiece(verdict=-1)]).verdict
    1
    """
    judged = [piece for piece in pieces if piece.verdict is not None]
    if not judged:
        return None
    best = max(_rank(piece) for piece in judged)
    deciding = [piece for piece in judged if _rank(piece) == best]
    served, _, at_reference_place = best
    variance = 0.0
    if not served:
        variance += OTHER_PIECE_UNCERTAINTY**2
    if not at_reference_place:
        variance += OTHER_PLACE_UNCERTAINTY**2
    middle = statistics.median(piece.verdict for piece in deciding if piece.verdict is not None)
    return CombinedVerdict(
        verdict=int(middle),  # towards 0 between two verdicts
        uncertainty=variance**0.5,
        faults=combine_faults(deciding),
        place=_common([piece.place for piece in deciding]),
        thickness_class=_common([piece.thickness_class for piece in deciding]),
        mass_ratio=_unsuited_masses(pieces),
        sitting=_common([piece.sitting for piece in deciding]),
    )


def combine_faults(pieces: Sequence[JudgedPiece]) -> tuple[str, ...]:
    """Every fault seen on these pieces, each once, in the order in which they come.

    Examples
    --------
    >>> combine_faults([JudgedPiece(verdict=None, faults=("stuck",))] * 2)
    ('stuck',)
    """
    return tuple(dict.fromkeys(fault for piece in pieces for fault in piece.faults))


def _rank(piece: JudgedPiece) -> tuple[bool, bool, bool]:
    return piece.served, piece.by_instructor, piece.at_reference_place


def _unsuited_masses(pieces: Sequence[JudgedPiece]) -> float | None:
    """How far the masses of a load lie apart, where it shows in how the pieces came out.

    A heavy piece lags behind a light one. Where all came out alike, the schedule suits or misses
    them all alike; an unjudged one among pieces that missed leaves it open.
    """
    masses = [piece.mass for piece in pieces if piece.mass is not None and piece.mass > 0]
    if len(masses) < 2 or max(masses) < VERY_DIFFERENT_MASS * min(masses):
        return None
    verdicts = {piece.verdict for piece in pieces}
    if len(verdicts) == 1 or verdicts == {0, None}:
        return None
    return max(masses) / min(masses)


def _common(values: Sequence[Hashable | None]) -> Hashable | None:
    first, *others = values
    return first if all(value == first for value in others) else None
