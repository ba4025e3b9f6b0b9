"""Two revisions side by side: which numbers changed, why, and what that does in a kiln."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from schedules.core_inputs import written_segments
from schedules.models import Revision, Schedule
from schedules.queries.planned import Planned
from schedules.queries.remarks import (
    RemarkList,
    acts_on_revision,
    mends_in,
    remark_list,
    silenced_on,
)
from schedules.queries.revision_page import chosen_kiln, kilns_for, planned_of, revisions_of
from schedules.services.difference import SegmentChange, difference
from schedules.services.writing import carry
from studio.models import Kiln

FINEST = Decimal("0.01")  # to which a revision in the other unit is laid beside this one


@dataclass(frozen=True)
class RevisionDifference:
    older: Revision
    newer: Revision
    lines: list[SegmentChange]
    reasons: list[Revision]
    planned: Planned | None
    kilns: list[Kiln]
    may_mend: bool = False

    @cached_property
    def remarks(self) -> RemarkList | None:
        """What speaks against the newer one in that kiln."""
        planned, newer = self.planned, self.newer
        if planned is None:
            return None
        return remark_list(
            planned.found,
            planned.unit,
            silenced=silenced_on(newer.schedule),
            mends=mends_in(planned.case, planned.found, written_segments(newer), newer.unit),
        )

    @property
    def acts(self) -> str:
        return acts_on_revision(may_mend=self.may_mend)

    @property
    def changed_lines(self) -> list[SegmentChange]:
        return [line for line in self.lines if line.kind != "same"]


def revision_difference(
    schedule: Schedule,
    *,
    from_number: int | None,
    to_number: int | None,
    kiln_pk: str | None,
    may_mend: bool = False,
) -> RevisionDifference | None:
    """Between any two revisions, the older first whichever way they were asked for; `may_mend`:
    whether the reader may write the next one.

    Without numbers the newest and the one before it; None where one of them is not there.
    """
    revisions = {each.number: each for each in revisions_of(schedule).prefetch_related("segments")}
    newest = max(revisions, default=0)
    to_number = newest if to_number is None else to_number
    from_number = to_number - 1 if from_number is None else from_number
    low, high = sorted((from_number, to_number))
    if low == high or low not in revisions or high not in revisions:
        return None
    older, newer = revisions[low], revisions[high]
    kilns = kilns_for(newer)
    return RevisionDifference(
        older=older,
        newer=newer,
        lines=lines_between(older, newer),
        reasons=[revisions[number] for number in sorted(revisions) if low < number <= high],
        planned=planned_of(newer, chosen_kiln(kilns, kiln_pk), unit=newer.unit, earlier=older),
        kilns=kilns,
        may_mend=may_mend,
    )


def lines_between(older: Revision, newer: Revision) -> list[SegmentChange]:
    """Their segments side by side in the newer one's unit, also of two schedules."""
    before = written_segments(older)
    if older.unit != newer.unit:
        before = [each.keyed for each in carry(before, older.unit, newer.unit, FINEST)]
    return difference(before, written_segments(newer))
