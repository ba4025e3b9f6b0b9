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


def _other_family(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    known = [each for each in pieces if each.family]
    strange = tuple(each.name for each in known if each.family != known[0].family)
    return [GlassRemark("other_family", "block", strange)] if strange else []


def _reactive(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    remarks = []
    for one, other in reactions_among([each.reaction for each in pieces]):
        meeting = tuple(each.name for each in pieces if each.reaction & {one, other})
        remarks.append(GlassRemark("reactive", "warn", meeting, f"{one}_meets_{other}"))
    return remarks


def _strikes(pieces: Sequence[GlassInPiece]) -> list[GlassRemark]:
    striking = tuple(each.name for each in pieces if each.strikes)
    return [GlassRemark("strikes", "note", striking)] if striking else []
