"""Two revisions side by side: which numbers changed, why, and what that does in a kiln."""

from dataclasses import dataclass
from decimal import Decimal

from schedules.core_inputs import written_segments
from schedules.models import Revision, Schedule
from schedules.queries.planned import Planned
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

    @property
    def changed_lines(self) -> list[SegmentChange]:
        return [line for line in self.lines if line.kind != "same"]


def revision_difference(
    schedule: Schedule, *, from_number: int | None, to_number: int | None, kiln_pk: str | None
) -> RevisionDifference | None:
    """Between any two revisions, the older first whichever way they were asked for.

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
    )


def lines_between(older: Revision, newer: Revision) -> list[SegmentChange]:
    """Their segments side by side in the newer one's unit, also of two schedules."""
    before = written_segments(older)
    if older.unit != newer.unit:
        before = [each.keyed for each in carry(before, older.unit, newer.unit, FINEST)]
    return difference(before, written_segments(newer))
