"""What is odd about a load, and about firing it by its schedule: one list, as its pages show it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from django.template.loader import render_to_string

from firings.core_inputs import check_of_piece, glasses_of, load_of_piece
from firings.models import Firing, FiringState, LoadedPiece
from firings.queries.annealed import gentlest_case
from firings.queries.furniture import Coat, coats_of
from schedules.core_inputs import MM_PER_M, core_segments, kiln_limits_of, written_segments
from schedules.queries.remarks import (
    FoundRemark,
    Mends,
    RemarkList,
    heard_of,
    mends_in,
    silenced_on,
)
from schedules.services.case import Case
from schedules.services.checks import Remark, check_case
from schedules.wording import RemarkLine, remark_line
from studio.models import GlassFamily

CHECKED = (FiringState.PLANNED, FiringState.FIRING)
LONGEST_CODE = 40


@dataclass(frozen=True)
class LoadRemark:
    """Something odd about a load: a code, and what it is about. The words stand in a template.

    Codes: "families_mixed" (names: the families), "other_family" (names: those of the load that
    are not the schedule's), "coat_used" (names: moulds and shelves; figure: full fuses on their
    coat), "thickness_outside" (names: the pieces; figure and limit: mm, of the
    one that lies furthest outside). `silenced_as` is the code under which it is silenced: silencing
    one mixture silences no other.
    """

    code: str
    names: tuple[str, ...]
    silenced_as: str
    figure: float | None = None
    limit: float | None = None


def load_remarks(firing: Firing, coats: Mapping[int, Coat] | None = None) -> list[LoadRemark]:
    """What to say about the load of a firing from `firing_for_page`; asks the database nothing.

    `coats`: of the moulds and shelves on which its pieces lie, before this firing.
    """
    remarks: list[LoadRemark] = []
    schedule = firing.revision.schedule
    pieces = list(firing.load.all())
    families = list(dict.fromkeys(kind.family for loaded in pieces for kind in glasses_of(loaded)))
    if len(families) > 1:
        remarks.append(_of_families("families_mixed", families))
    strange = [family for family in families if family.pk != schedule.family_id]
    if schedule.family_id and strange:
        remarks.append(_of_families("other_family", strange))
    outside = {
        loaded.piece.title: (loaded.thickest_mm, limit)
        for loaded in pieces
        if loaded.thickest_mm is not None
        and (limit := min(max(loaded.thickest_mm, schedule.thinnest_mm), schedule.thickest_mm))
        != loaded.thickest_mm
    }
    if outside:
        furthest = max(outside.values(), key=lambda each: abs(each[0] - each[1]))
        code = "thickness_outside"
        remarks.append(LoadRemark(code, tuple(outside), f"load_{code}", *furthest))
    used_up = {
        loaded.lies_on.name: coats[loaded.lies_on.pk].full_fuses
        for loaded in pieces
        if coats and loaded.lies_on is not None and coats[loaded.lies_on.pk].is_used_up
    }
    if used_up:
        figure = float(max(used_up.values()))
        remarks.append(LoadRemark("coat_used", tuple(used_up), "load_coat_used", figure, 1.0))
    return remarks


def _coats(firing: Firing) -> dict[int, Coat]:
    lies_on = {loaded.lies_on_id for loaded in firing.load.all() if loaded.lies_on_id is not None}
    return coats_of(lies_on, before=firing.started_at) if lies_on else {}


def _of_families(code: str, families: list[GlassFamily]) -> LoadRemark:
    numbers = "_".join(str(pk) for pk in sorted(family.pk for family in families))
    names = tuple(str(family) for family in families)
    return LoadRemark(code, names, f"load_{code}_{numbers}"[:LONGEST_CODE])


@dataclass(frozen=True)
class LoadCheck:
    """What speaks against what lies in the kiln, and against firing it by what was keyed.

    The schedule is checked as long as the firing may still be changed (`is_checked`): for the piece
    of that `title`, which asks for the gentlest anneal; empty where no piece has a thickness on
    record, and the schedule's own counts. `newest` is the number of the schedule's newest revision
    where one that satisfies a remark can be fired instead, else None.
    """

    remarks: RemarkList
    is_checked: bool
    title: str
    thickness_mm: float
    newest: int | None


def load_check(firing: Firing, unit: str) -> LoadCheck:
    """Of a firing from `firing_for_page`. One query, for what is silenced on the schedule; one more
    where a revision can be made that satisfies a remark."""
    schedule = firing.revision.schedule
    case, piece = gentlest_case(firing)
    is_checked = firing.state in CHECKED
    found = [*_of_load(firing), *_of_pieces(firing, unit)]
    if is_checked:
        found += _of_schedule(firing, case, piece, unit)
    remarks = heard_of(found, silenced=silenced_on(schedule) if found else ())
    mends = any(each.mending for each in remarks.shown)
    return LoadCheck(
        remarks=remarks,
        is_checked=is_checked,
        title="" if piece is None else piece.piece.title,
        thickness_mm=case.thickness.by_factor * MM_PER_M,
        newest=schedule.revisions.latest().number if mends else None,
    )


def _of_load(firing: Firing) -> Iterator[FoundRemark]:
    for each in load_remarks(firing, _coats(firing)):
        words = render_to_string(
            "firings/_load_remark_words.html",
            {"remark": each, "schedule": firing.revision.schedule},
        )
        remark = Remark(each.silenced_as, "warn", None, each.figure, each.limit)
        key = each.silenced_as.replace("_", "-")
        yield FoundRemark(remark, RemarkLine("warn", None, words.strip(), key))


def _of_pieces(firing: Firing, unit: str) -> Iterator[FoundRemark]:
    for loaded in firing.load.all():
        mends = _mends_for(loaded, firing)
        for remark in check_of_piece(loaded, firing):
            line = remark_line(remark, unit)
            line = replace(line, key=f"{line.key}-{loaded.pk}", about=loaded.piece.title)
            yield FoundRemark(remark, line, mends if remark.remedy else None)


def _of_schedule(
    firing: Firing, case: Case, piece: LoadedPiece | None, unit: str
) -> Iterator[FoundRemark]:
    """What `_of_pieces` says of that piece is left to it."""
    told = set() if piece is None else {each.code for each in check_of_piece(piece, firing)}
    found = check_case(case)
    mends = _mends(firing, case, found)
    for remark in found:
        if remark.code not in told:
            yield FoundRemark(remark, remark_line(remark, unit), mends)


def _mends_for(loaded: LoadedPiece, firing: Firing) -> Mends | None:
    schedule = firing.revision.schedule
    segments = tuple(core_segments(firing.revision))
    limits = kiln_limits_of(firing.kiln, firing.room_temperature_c)
    case = Case(segments, schedule.process, load_of_piece(loaded, schedule), limits)
    return _mends(firing, case, None)


def _mends(firing: Firing, case: Case, found: list[Remark] | None) -> Mends | None:
    """By another revision, and so only before it starts, and where its own numbers are keyed."""
    if firing.state != FiringState.PLANNED or firing.keyed_differences.all():
        return None
    revision = firing.revision
    return mends_in(case, found, written_segments(revision), revision.unit)
