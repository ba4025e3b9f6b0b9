"""Whether the glasses of one piece belong together: by family, by what they carry, by the heat.

All three are common practice of the trade, no source: what a maker says of its own glass wins.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Literal

CARRIED = ("sulphur", "copper", "lead", "silver")
"""What a glass may carry that reacts with another glass; "sulphur" stands for selenium too."""

REACTIONS = tuple(("sulphur", other) for other in ("copper", "lead", "silver"))
"""Pairs that darken where they touch while they are soft; common practice, no source."""

Severity = Literal["block", "warn", "note"]


@dataclass(frozen=True)
class GlassInPiece:
    """One glass of a piece.

    Parameters
    ----------
    family : name of the family whose expansion it fits; "" where that is not known
    reaction : what it carries, of `CARRIED`
    strikes : whether its colour comes with the heat only
    name : by which a remark calls it

    Raises
    ------
    ValueError
        for something carried that is not one of `CARRIED`

    >>> GlassInPiece("Millrace 90", frozenset({"copper"}), name="turquoise").strikes
    False
    """

    family: str
    reaction: frozenset[str] = frozenset()
    strikes: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        unknown = self.reaction.difference(CARRIED)
        if unknown:
            raise ValueError(f"Not known to react: {', '.join(sorted(unknown))}.")


@dataclass(frozen=True)
class GlassRemark:
    """One thing to say of the glasses of a piece.

    Parameters
    ----------
    code : "other_family", "reactive" or "strikes"
    severity : "block" where they must not be fused, "warn", or "note"
    glasses : names of those that it is about, in the order in which they were given
    reason : of "reactive" which two meet, as "sulphur_meets_copper"; else ""
    """

    code: str
    severity: Severity
    glasses: tuple[str, ...]
    reason: str = ""


def reactions_among(carried: Sequence[frozenset[str]]) -> list[tuple[str, str]]:
    """The pairs of `REACTIONS` that meet when glasses that carry these touch.

    What one glass carries by itself was melted so, and does not count.

    >>> reactions_among([frozenset({"sulphur"}), frozenset({"copper", "silver"})])
    [('sulphur', 'copper'), ('sulphur', 'silver')]
    >>> reactions_among([frozenset({"sulphur", "copper"}), frozenset()])
    []

    Source: common practice, no source.
    """
    return [
        (one, other)
        for one, other in REACTIONS
        if any(one in a and other in b for a, b in permutations(carried, 2))
    ]


def fit(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    """What stands against fusing these glasses into one piece, the gravest first.

    The first glass is the piece's own: of another family is whatever is not of its family.

    Parameters
    ----------
    pieces : the glasses of one piece, its main one first; a candidate goes to the end

    Returns
    -------
    at most one "other_family", one "reactive" for each pair that meets, one "strikes"; nothing
    where all of it fits

    >>> amber = GlassInPiece("Millrace 90", frozenset({"sulphur"}), True, "amber")
    >>> sea = GlassInPiece("Millrace 90", frozenset({"copper"}), False, "sea green")
    >>> [(each.code, each.reason, each.glasses) for each in fit([amber, sea])]
    [('reactive', 'sulphur_meets_copper', ('amber', 'sea green')), ('strikes', '', ('amber',))]
    >>> [(each.code, each.severity) for each in fit([sea, GlassInPiece("Float", name="float")])]
    [('other_family', 'block')]

    Source: common practice, no source.
    """
    return [*_other_family(pieces), *_reactive(pieces), *_strikes(pieces)]


def fit_with(pieces: Sequence[GlassInPiece], candidate: GlassInPiece) -> list[GlassRemark]:
    """What one more glass would bring against it, the gravest first; see `fit`.

    What the others say among themselves is left out.

    >>> amber = GlassInPiece("Millrace 90", frozenset({"sulphur"}), True, "amber")
    >>> fit_with([amber], GlassInPiece("Millrace 90", name="clear"))
    []
    >>> sea = GlassInPiece("Millrace 90", frozenset({"copper"}), False, "sea green")
    >>> fit_with([amber], sea)[0].glasses
    ('amber', 'sea green')

    Source: common practice, no source.
    """
    first = next((each.family for each in pieces if each.family), candidate.family)
    strange = candidate.family not in ("", first)
    remarks = [GlassRemark("other_family", "block", (candidate.name,))] if strange else []
    for pair in REACTIONS:
        met = [
            each.name
            for each in pieces
            if pair in reactions_among([each.reaction, candidate.reaction])
        ]
        if met:
            remarks.append(_reaction(pair, (*met, candidate.name)))
    return [*remarks, *_strikes([candidate])]


def _other_family(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    known = [each for each in pieces if each.family]
    strange = tuple(each.name for each in known if each.family != known[0].family)
    return [GlassRemark("other_family", "block", strange)] if strange else []


def _reactive(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    return [
        _reaction(pair, tuple(each.name for each in pieces if each.reaction.intersection(pair)))
        for pair in reactions_among([each.reaction for each in pieces])
    ]


def _reaction(pair: tuple[str, str], names: tuple[str, ...]) -> GlassRemark:
    return GlassRemark("reactive", "warn", names, "{}_meets_{}".format(*pair))


def _strikes(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    striking = tuple(each.name for each in pieces if each.strikes)
    return [GlassRemark("strikes", "note", striking)] if striking else []
