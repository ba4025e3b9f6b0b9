"""A row of the page in which a schedule is written, and what a change has made of it."""

from dataclasses import dataclass, field

from django import forms

from schedules.forms.segments import SegmentForm, typed_segment
from schedules.services.difference import SegmentChange

NAME_IN_ROW = {"rate": "rate", "target": "target", "hold_minutes": "hold"}


@dataclass(frozen=True)
class Remade:
    """What a change has made of a row: the numbers that it had before, by field, or all of it."""

    before: dict[str, str] = field(default_factory=dict)
    is_new: bool = False


@dataclass(frozen=True)
class EditorRow:
    """`go_on_at`: the part of it at which to go on, “rate”, “up”, “down” or none."""

    form: SegmentForm
    go_on_at: str
    remade: Remade

    @property
    def numbers(self) -> list[tuple[forms.BoundField, str | None]]:
        """Each field, with what stood in it before it was changed, if it was."""
        return [(each, self.remade.before.get(each.name)) for each in self.form]


def remade_row(line: SegmentChange, typed: dict[str, str]) -> tuple[dict[str, str], Remade]:
    """A row after a change, and what the change made of it."""
    if line.newer is None:
        raise ValueError("A segment that is gone has no row.")
    now = typed_segment(line.newer)
    if line.kind == "added":
        return now, Remade(is_new=True)
    names = [NAME_IN_ROW[change.field] for change in line.fields]
    return typed | {name: now[name] for name in names}, Remade(
        {name: typed[name] for name in names}
    )
