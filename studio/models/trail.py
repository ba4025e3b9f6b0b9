"""The trail of a row: what it was each time that somebody changed it, and who did.

A model keeps one by `trail = Trail(...)`. Bulk writes (`update`, `bulk_create`) pass it by: what
changes a row with a trail saves it.
"""

import copy
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

from django.db.models import Field, ForeignKey, Model
from django.db.models.signals import pre_save
from simple_history.models import HistoricalRecords
from simple_history.utils import bulk_create_with_history

AS_IT_STOOD = "as it stood"
"""Why there is a record that nobody made: the row is older than its trail, or the trail paused."""

AT_ONCE = 500
Made = TypeVar("Made", bound=Model)

_is_paused: ContextVar[bool] = ContextVar("the trail is paused", default=False)


@contextmanager
def trail_paused() -> Iterator[None]:
    """Nothing is kept in here: for a studio that is invented in one go."""
    before = _is_paused.set(True)
    try:
        yield
    finally:
        _is_paused.reset(before)


_trails: dict[type[Model], "Trail"] = {}


class Trail(HistoricalRecords):
    """The history of a model's rows, of changes only.

    `part_of` names the foreign key to what the row is a part of; only that one is indexed.
    `without` are fields that are never kept. A save that changes nothing leaves no record; one of
    some fields (`update_fields`) leaves the others as they were last kept, whatever a stale
    instance says of them.
    """

    def __init__(
        self, *, part_of: str = "", without: tuple[str, ...] = (), m2m: tuple[str, ...] = ()
    ) -> None:
        super().__init__(excluded_fields=list(without), m2m_fields=m2m)
        self.part_of = part_of

    def finalize(self, sender: type[Model], **kwargs: Any) -> None:
        super().finalize(sender, **kwargs)
        if self.cls is sender:
            _trails[sender] = self
            pre_save.connect(self.pre_save, sender=sender, weak=False)

    def copy_fields(self, model: type[Model]) -> dict[str, Field]:
        keys = [field.name for field in model._meta.fields if isinstance(field, ForeignKey)]
        self.no_db_index = [name for name in keys if name != self.part_of]
        fields: dict[str, Field] = super().copy_fields(model)
        return fields

    def pre_save(
        self, instance: Model, raw: bool, update_fields: frozenset[str] | None, **_: Any
    ) -> None:
        if raw or _is_paused.get() or (instance._state.adding and instance.pk is None):
            return
        saved = self._saved(instance, update_fields)
        _notes(instance)["before"] = self.last_kept(instance) if saved else None

    def post_save(
        self, instance: Model, created: bool, using: str | None = None, **kwargs: Any
    ) -> None:
        if _is_paused.get() or kwargs.get("raw"):
            return
        before = _notes(instance).pop("before", None)
        if created:
            self.create_historical_record(instance, "+", using)
        if created or before is None:
            return
        saved = self._saved(instance, kwargs.get("update_fields"))
        now = {
            field.attname: _as_read(field, getattr(instance, field.attname))
            if field in saved
            else before[field.attname]
            for field in self.fields_included(instance)
        }
        if now != before:
            self._keep(instance, now, "~")

    def post_delete(self, instance: Model, using: str | None = None, **kwargs: Any) -> None:
        if not _is_paused.get():
            self.create_historical_record(instance, "-", using)

    def m2m_changed(
        self,
        instance: Model,
        action: str,
        attr: str,
        pk_set: set[Any] | None,
        reverse: bool,
        **_: Any,
    ) -> None:
        if _is_paused.get() or (not pk_set and "clear" not in action):
            return
        if reverse:
            raise TypeError(f"Change {attr} from the row that keeps a trail of it.")
        before = self.last_kept(instance)
        if before is not None and action.startswith("post_"):
            self._keep(instance, before, "~")

    def _saved(self, instance: Model, only: frozenset[str] | None) -> set[Field]:
        """The fields with a trail that this save writes."""
        included = self.fields_included(instance)
        if only is None:
            return set(included)
        return {field for field in included if field.name in only or field.attname in only}

    def last_kept(self, instance: Model) -> Mapping[str, Any] | None:
        """The row as its newest record has it; a row without one gets its first."""
        names = [field.attname for field in self.fields_included(instance)]
        newest: Mapping[str, Any] | None = (
            records_of(type(instance))
            ._base_manager.filter(**{instance._meta.pk.attname: instance.pk})
            .order_by("-history_id")
            .values(*names)
            .first()
        )
        if newest is not None:
            return newest
        stands = type(instance)._base_manager.filter(pk=instance.pk).values(*names).first()
        if stands is not None:
            self._keep(instance, stands, "+", AS_IT_STOOD)
        return stands

    def _keep(
        self, instance: Model, values: Mapping[str, Any], kind: str, reason: str | None = None
    ) -> None:
        kept = copy.copy(instance)
        for name, value in values.items():
            setattr(kept, name, value)
        kept._change_reason = reason  # type: ignore[attr-defined]
        if reason is not None:
            kept._history_user = None  # type: ignore[attr-defined]
        self.create_historical_record(kept, kind)


def _notes(instance: Model) -> dict[str, Any]:
    notes: dict[str, Any] = instance.__dict__.setdefault("_trail", {})
    return notes


def _as_read(field: Field, value: Any) -> Any:
    """The value as the database gives it back, so that 12 and “12” are one."""
    read: Callable[[Any], Any] = field.to_python
    return None if value is None else read(value)


def rows_make(rows: Sequence[Made], *, by: Model, reason: str) -> list[Made]:
    """Many new rows of one model at once, each with the first record of its trail.

    Nothing that follows a save follows it.
    """
    if not rows:
        return []
    model = type(rows[0])
    if _is_paused.get():
        return model._default_manager.bulk_create(rows, AT_ONCE)
    made: list[Made] = bulk_create_with_history(
        rows, model, batch_size=AT_ONCE, default_user=by, default_change_reason=reason[:100]
    )
    return made


def trail_begins(row: Model) -> None:
    """Keep how a row stands, unless it has a trail already: before what passes the trail by."""
    _trails[type(row)].last_kept(row)


def has_trail(model: type[Model]) -> bool:
    return model in _trails


def records_of(model: type[Model]) -> type[Model]:
    """The model of the records in the trail of `model`."""
    records: type[Model] = getattr(model, model._meta.simple_history_manager_attribute).model  # type: ignore[attr-defined]
    return records


def parent_of(model: type[Model]) -> str:
    """The foreign key by which its rows are a part of something; empty for what stands alone."""
    return _trails[model].part_of


def tracked_fields(model: type[Model]) -> list[Field]:
    """What its records keep: fields of the row, and its lists (many to many)."""
    trail = _trails[model]
    return [*trail.fields_included(model), *trail.get_m2m_fields_from_model(model)]


def kept_lists(
    model: type[Model], records: Sequence[int]
) -> dict[int, dict[Field, tuple[Any, ...]]]:
    """By record: the keys that each of the model's lists held. One query a list."""
    found: dict[int, dict[Field, tuple[Any, ...]]] = {}
    for field in _trails[model].get_m2m_fields_from_model(model):
        rows = Trail.m2m_models[field]._base_manager.filter(history__in=records)
        target = f"{field.m2m_reverse_field_name()}_id"
        for record, key in rows.order_by(target).values_list("history_id", target):
            of_record = found.setdefault(record, {})
            of_record[field] = (*of_record.get(field, ()), key)
    return found
