"""Turns rows of glass into the core's dataclasses, so that no query builds its own."""

from studio.models import GlassFamily, GlassKind, GlassLook
from studio.services.estimated_glass import EstimatedGlass, estimated_glass
from studio.services.glass import Glass
from studio.services.glass_match import GlassInPiece

EXPANSION_UNIT = 1e-7  # expansion is written on forms in 10⁻⁷ per K


def glass_of(kind: GlassKind | None, family: GlassFamily | None = None) -> Glass:
    """A kind's glass, or its family's; see `estimated_glass_of`."""
    return estimated_glass_of(kind, family).glass


def estimated_glass_of(kind: GlassKind | None, family: GlassFamily | None = None) -> EstimatedGlass:
    """A kind's glass with what was assumed of it, and failing that its family's."""
    family = kind.family if kind is not None else family
    row = row_of_points(kind, family)
    expansion = next((each.expansion for each in (kind, family) if each and each.expansion), None)
    return estimated_glass(
        None if row is None else row.strain_point_c,
        None if row is None else row.annealing_point_c,
        None if row is None else row.softening_point_c,
        anneal_soak=None if family is None else family.anneal_soak_c,
        expansion=None if expansion is None else expansion * EXPANSION_UNIT,
    )


def row_of_points(
    kind: GlassKind | None, family: GlassFamily | None
) -> GlassKind | GlassFamily | None:
    """The row whose points count: they hang together, and are never mixed from two rows.

    One that has all three goes before one that has some, and a kind before its family.
    """
    rows = [row for row in (kind, family) if row is not None]
    known = [row for row in rows if row.points is not None]
    return next(iter([*known, *(row for row in rows if row.some_points)]), None)


def chemistry_of(kind: GlassKind) -> frozenset[str]:
    """What a kind carries that may react with another glass, as a check names it."""
    carried = {
        "sulphur": kind.carries_sulphur,
        "copper": kind.carries_copper,
        "lead": kind.carries_lead,
        "silver": kind.carries_silver,
    }
    return frozenset(name for name, is_carried in carried.items() if is_carried)


def glass_in_piece(kind: GlassKind) -> GlassInPiece:
    """A kind as one of the glasses of a piece; its family comes with it."""
    strikes = kind.look == GlassLook.STRIKER
    return GlassInPiece(kind.family.name, chemistry_of(kind), strikes, str(kind))
