"""The names of the rows that a trail speaks of, also of those that are gone."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import ForeignKey, Model

from studio.models.trail import has_trail, records_of
from studio.trails import naming_field

GONE = "one that is gone"

Row = tuple[type[Model], Any]


def names_of(rows: Iterable[Row]) -> dict[Row, str]:
    """A name for each; a few queries for each model, however many rows there are."""
    wanted: dict[type[Model], set[Any]] = defaultdict(set)
    for model, pk in rows:
        wanted[model].add(pk)
    names: dict[Row, str] = {}
    for model, pks in wanted.items():
        found = _by_field(model, pks) if naming_field(model) else _by_text(model, pks)
        names |= {(model, pk): found.get(pk, GONE) for pk in pks}
    return names


def _by_text(model: type[Model], pks: set[Any]) -> dict[Any, str]:
    keys = [each.name for each in model._meta.fields if isinstance(each, ForeignKey)]
    rows = model._base_manager.select_related(*keys) if keys else model._base_manager.all()
    return {row.pk: str(row) for row in rows.filter(pk__in=pks)}


def _by_field(model: type[Model], pks: set[Any]) -> dict[Any, str]:
    """By what stands in the field; of a row that is gone, by its last record."""
    name = str(naming_field(model))
    found: dict[Any, Any] = dict(
        model._base_manager.filter(pk__in=pks).order_by().values_list("pk", name)
    )
    if has_trail(model) and (gone := pks - found.keys()):
        records = records_of(model)._base_manager.filter(id__in=gone).order_by("history_id")
        found |= dict(records.values_list("id", name))
    target = model._meta.get_field(name)
    if not isinstance(target, ForeignKey):
        return {pk: str(value) for pk, value in found.items()}
    named: Mapping[Row, str] = names_of((_target(target), key) for key in found.values())
    return {pk: named[_target(target), key] for pk, key in found.items()}


def _target(field: ForeignKey) -> type[Model]:
    model: type[Model] = field.remote_field.model
    return model
