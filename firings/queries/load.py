"""What is odd about a load: as a whole, and piece by piece."""

from dataclasses import dataclass

from firings.core_inputs import check_of_piece, glasses_of
from firings.models import Firing, FiringState
from firings.queries.annealed import gentlest_case
from schedules.core_inputs import MM_PER_M
from schedules.queries.remarks import RemarkList, remark_list, silenced_on
from schedules.services.checks import check_case
from schedules.wording import RemarkLine, remark_lines


@dataclass(frozen=True)
class LoadRemark:
    """Something odd about a load: a code, and what it is about. The words stand in a template.

    Codes: "families_mixed" (names: the families), "other_family" (names: those of the load that
    are not the schedule's), "thickness_outside" (names: the pieces).
    """

    code: str
    names: tuple[str, ...]


def load_remarks(firing: Firing) -> list[LoadRemark]:
    """What to say about the load of a firing from `firing_for_page`; asks the database nothing."""
    remarks: list[LoadRemark] = []
    schedule = firing.revision.schedule
    pieces = list(firing.load.all())
    families = dict.fromkeys(kind.family for loaded in pieces for kind in glasses_of(loaded))
    if len(families) > 1:
        remarks.append(LoadRemark("families_mixed", tuple(str(family) for family in families)))
    strange = [family for family in families if family.pk != schedule.family_id]
    if schedule.family_id and strange:
        remarks.append(LoadRemark("other_family", tuple(str(family) for family in strange)))
    outside = [
        loaded.piece.title
        for loaded in pieces
        if loaded.thickest_mm is not None
        and not schedule.thinnest_mm <= loaded.thickest_mm <= schedule.thickest_mm
    ]
    if outside:
        remarks.append(LoadRemark("thickness_outside", tuple(outside)))
    return remarks


@dataclass(frozen=True)
class PieceRemark:
    """What speaks against one piece in this kiln, in words."""

    title: str
    line: RemarkLine


def piece_remarks(firing: Firing, unit: str) -> list[PieceRemark]:
    """Of each piece of a firing from `firing_for_page`; asks the database nothing."""
    return [
        PieceRemark(loaded.piece.title, line)
        for loaded in firing.load.all()
        for line in remark_lines(check_of_piece(loaded, firing), unit)
    ]


@dataclass(frozen=True)
class LoadCheck:
    """What speaks against firing what was keyed with what lies in the kiln.

    `title` is that of the piece that asks for the gentlest anneal, and for which it was checked;
    empty where no piece has a thickness on record, and the schedule's own counts.
    """

    remarks: RemarkList
    title: str
    thickness_mm: float


def load_check(firing: Firing, unit: str) -> LoadCheck | None:
    """Of a firing from `firing_for_page` that may still be changed; what `piece_remarks` says of
    that piece is left to them. One query, for what is silenced on the schedule."""
    if firing.state not in (FiringState.PLANNED, FiringState.FIRING):
        return None
    case, piece = gentlest_case(firing)
    told = set() if piece is None else {each.code for each in check_of_piece(piece, firing)}
    found = [remark for remark in check_case(case) if remark.code not in told]
    return LoadCheck(
        remark_list(found, unit, silenced=silenced_on(firing.revision.schedule)),
        "" if piece is None else piece.piece.title,
        case.thickness.by_factor * MM_PER_M,
    )
