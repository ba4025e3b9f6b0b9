"""What is odd about a load: as a whole, and piece by piece."""

from dataclasses import dataclass

from firings.core_inputs import check_of_piece, glasses_of
from firings.models import Firing
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
