"""What changed between two revisions: their segments laid side by side.

Segments are aligned as lines of two texts are: the cheapest way from the older schedule to the
newer, in which keeping a segment costs nothing, adding or removing one costs `_GAP`, and turning
one into another costs the more the less the two are alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from schedules.services.writing import WrittenSegment

Field = Literal["rate", "target", "hold_minutes"]
Kind = Literal["same", "changed", "added", "removed"]

_FIELDS: tuple[Field, ...] = ("rate", "target", "hold_minutes")
_FIELD_COST = 0.2
_GAP = 0.5
_FAR = 100.0
"""Degrees between two targets at which they have nothing in common."""
_FAR_COST = 0.6


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One number that changed; a rate of None is full power."""

    field: Field
    before: Decimal | None
    after: Decimal | None


@dataclass(frozen=True, slots=True)
class SegmentChange:
    """One line of the difference.

    Parameters
    ----------
    kind : "same", "changed", "added" or "removed"
    older, newer : the segment in either revision, or None where it has none
    older_index, newer_index : from 0, or None
    fields : the numbers that changed, of a segment that is in both
    """

    kind: Kind
    older: WrittenSegment | None
    newer: WrittenSegment | None
    older_index: int | None
    newer_index: int | None
    fields: tuple[FieldChange, ...] = ()

    @property
    def older_position(self) -> int | None:
        """Counted from 1, as people do."""
        return None if self.older_index is None else self.older_index + 1

    @property
    def newer_position(self) -> int | None:
        return None if self.newer_index is None else self.newer_index + 1


def difference(
    older: Sequence[WrittenSegment], newer: Sequence[WrittenSegment]
) -> list[SegmentChange]:
    """The segments of two revisions side by side, in order.

    Parameters
    ----------
    older, newer : in the same unit

    Returns
    -------
    One SegmentChange for each segment that is in either.

    Examples
    --------
    >>> fuse = WrittenSegment(Decimal(300), Decimal(804), Decimal(10))
    >>> longer = WrittenSegment(Decimal(300), Decimal(804), Decimal(14))
    >>> anneal = WrittenSegment(None, Decimal(482), Decimal(60))
    >>> [line.kind for line in difference([fuse], [longer, anneal])]
    ['changed', 'added']
    >>> difference([fuse], [longer])[0].fields
    (FieldChange(field='hold_minutes', before=Decimal('10'), after=Decimal('14')),)
    """
    costs = _costs(older, newer)
    lines: list[SegmentChange] = []
    i, j = len(older), len(newer)
    while i or j:
        if i and j and costs[i][j] == costs[i - 1][j - 1] + _cost(older[i - 1], newer[j - 1]):
            i, j = i - 1, j - 1
            fields = _changed_fields(older[i], newer[j])
            kind: Kind = "changed" if fields else "same"
            lines.append(SegmentChange(kind, older[i], newer[j], i, j, fields))
        elif j and costs[i][j] == costs[i][j - 1] + _GAP:
            j -= 1
            lines.append(SegmentChange("added", None, newer[j], None, j))
        else:
            i -= 1
            lines.append(SegmentChange("removed", older[i], None, i, None))
    return lines[::-1]


def _costs(older: Sequence[WrittenSegment], newer: Sequence[WrittenSegment]) -> list[list[float]]:
    """costs[i][j]: of the cheapest way from the first i older to the first j newer segments."""
    costs = [[j * _GAP for j in range(len(newer) + 1)]]
    for i, before in enumerate(older, 1):
        row = [i * _GAP]
        for j, after in enumerate(newer, 1):
            row.append(
                min(
                    costs[i - 1][j - 1] + _cost(before, after),
                    row[j - 1] + _GAP,
                    costs[i - 1][j] + _GAP,
                )
            )
        costs.append(row)
    return costs


def _cost(before: WrittenSegment, after: WrittenSegment) -> float:
    apart = min(abs(float(before.target - after.target)) / _FAR, 1.0)
    return _FIELD_COST * len(_changed_fields(before, after)) + _FAR_COST * apart


def _changed_fields(before: WrittenSegment, after: WrittenSegment) -> tuple[FieldChange, ...]:
    return tuple(
        FieldChange(name, getattr(before, name), getattr(after, name))
        for name in _FIELDS
        if getattr(before, name) != getattr(after, name)
    )
