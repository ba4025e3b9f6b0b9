"""Who changed what and when of a thing: the lines of its trail, the newest first."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Field, ForeignKey, Model, OuterRef, QuerySet, Subquery, Value

from studio.models import Person
from studio.models.trail import kept_lists, parent_of, records_of, tracked_fields
from studio.queries.trail_names import Row, names_of
from studio.queries.trail_values import NOTHING, Shown, label_of, shown
from studio.trails import TrailOf, TrailPart

ACTS = {"+": "added", "~": "changed", "-": "removed"}


@dataclass(frozen=True)
class Change:
    """One field from what it was to what it became; one of the two may be nothing."""

    label: str
    before: Shown
    after: Shown


@dataclass(frozen=True)
class TrailLine:
    """What one person did at one moment; `by` is None for the site itself.

    `called` is empty for the thing itself, else what the row is; `known_by` tells which.
    """

    at: datetime
    by: Person | None
    act: str
    called: str
    known_by: tuple[Shown, ...]
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class _Record:
    """A record, the one before it of the same row, and which part of the trail it is of."""

    part: TrailPart
    now: Any
    before: Any
    lists: Mapping[int, Mapping[Field, tuple[Any, ...]]]

    def value(self, record: Any, field: Field) -> Any:
        if record is None:
            return None
        if field.many_to_many:
            return self.lists.get(record.pk, {}).get(field, ())
        return getattr(record, field.attname)

    @cached_property
    def differing(self) -> list[tuple[Field, Any, Any]]:
        """Fields that differ; of a row that was added or removed, all that say something."""
        was = self.before if self.now.history_type == "~" else None
        became = self.now
        if self.now.history_type == "-":
            was, became = self.now, None
        found = []
        for field in tracked_fields(self.part.model):
            before, after = self.value(was, field), self.value(became, field)
            if before != after and (self.now.history_type == "~" or _says(before, after)):
                found.append((field, before, after))
        return found


def _says(*values: Any) -> bool:
    return any(value not in (None, "", False, [], ()) for value in values)


def trail_pages(trail: TrailOf, thing: Model, person: Person, a_page: int) -> Paginator:
    """Pages of (moment, record, part) of what this person sees, in no more than one query each."""
    of_parts = [
        records_of(part.model)
        ._base_manager.filter(part.which(person, thing), history_change_reason=None)
        .annotate(trail_part=Value(place))
        .order_by()
        .values_list("history_date", "history_id", "trail_part")
        for place, part in enumerate(trail.parts)
    ]
    first, *others = of_parts
    found = first.union(*others, all=True) if others else first
    return Paginator(found.order_by("-history_date", "trail_part", "-history_id"), a_page)


def trail_lines(
    trail: TrailOf, thing: Model, person: Person, found: Iterable[tuple[datetime, int, int]]
) -> list[TrailLine]:
    """The lines for one page of `trail_pages`, in its order."""
    order = [(place, number) for _, number, place in found]
    records: dict[tuple[int, int], _Record] = {}
    for place, part in enumerate(trail.parts):
        numbers = [number for at, number in order if at == place]
        if numbers:
            records |= {(place, each.now.pk): each for each in _records(part, numbers)}
    in_order = [records[key] for key in order if key in records]
    names = names_of(_rows_spoken_of(in_order))
    hidden = [part.hides(person, thing) for part in trail.parts]
    lines = [
        _line(records[place, number], names, hidden[place])
        for place, number in order
        if (place, number) in records
    ]
    return [line for line in lines if line.act != "changed" or line.changes]


def _records(part: TrailPart, numbers: Sequence[int]) -> list[_Record]:
    kept = records_of(part.model)
    earlier = kept._base_manager.filter(id=OuterRef("id"), history_id__lt=OuterRef("history_id"))
    rows: QuerySet[Any] = (
        kept._base_manager.filter(pk__in=numbers)
        .annotate(trail_before=Subquery(earlier.order_by("-history_id").values("history_id")[:1]))
        .select_related("history_user")
    )
    now = list(rows)
    before = kept._base_manager.in_bulk(
        [row.trail_before for row in now if row.trail_before is not None]
    )
    lists = kept_lists(part.model, [*(row.pk for row in now), *before])
    return [_Record(part, row, before.get(row.trail_before), lists) for row in now]


def _rows_spoken_of(records: Iterable[_Record]) -> set[Row]:
    """Each row that a line names: by a key that changed, or that tells which row it is."""
    found: set[Row] = set()
    for record in records:
        for field, *values in record.differing:
            if field.remote_field:
                for value in values:
                    keys = value if field.many_to_many else (value,)
                    found |= {(_target(field), key) for key in keys or () if key is not None}
        for name in record.part.known_by:
            field = _field(record.part, name)
            if isinstance(field, ForeignKey):
                found.add((_target(field), getattr(record.now, field.attname)))
    return found


def _line(record: _Record, names: Mapping[Row, str], hidden: frozenset[str]) -> TrailLine:
    now, part = record.now, record.part
    known_by = tuple(
        _shown(part, _field(part, name), record.value(now, _field(part, name)), names)
        for name in part.known_by
    )
    changes = tuple(
        Change(
            label_of(field),
            _shown(part, field, before, names),
            _shown(part, field, after, names),
        )
        for field, before, after in record.differing
        if field.name not in hidden and _is_told(record, field, before, after)
    )
    return TrailLine(
        at=now.history_date,
        by=now.history_user,
        act=ACTS[now.history_type],
        called=part.called,
        known_by=tuple(value for value in known_by if value is not NOTHING),
        changes=changes,
    )


def _is_told(record: _Record, field: Field, before: Any, after: Any) -> bool:
    """Not told: what a new row has anyway, and who wrote it where that is whoever did it."""
    if record.now.history_type == "~":
        return True
    if not record.part.called:
        return False  # the thing itself was added: its page says the rest
    if field.name in record.part.known_by or field.primary_key:
        return False
    if isinstance(field, ForeignKey):
        is_parent = field.name == parent_of(record.part.model)
        is_whoever = _target(field) is Person and after == record.now.history_user_id
        return not (is_parent or is_whoever)
    return True


def _shown(part: TrailPart, field: Field, value: Any, names: Mapping[Row, str]) -> Shown:
    if field.many_to_many:
        called = sorted(names[_target(field), key] for key in value or ())
        return Shown("words", ", ".join(called)) if called else NOTHING
    if isinstance(field, ForeignKey):
        return NOTHING if value is None else Shown("words", names[_target(field), value])
    if field.name in part.codes and value:
        codes = part.codes[field.name]
        return Shown("words", ", ".join(str(codes.get(code, code)) for code in value))
    return shown(field, value)


def _field(part: TrailPart, name: str) -> Field:
    field = part.model._meta.get_field(name)
    assert isinstance(field, Field)  # noqa: S101  a part is known by fields of its own
    return field


def _target(field: Field) -> type[Model]:
    model: type[Model] = field.remote_field.model  # type: ignore[union-attr]
    return model
