"""Many kinds of glass at once, as a list has them."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from studio.lists import Tick
from studio.models import GlassFamily, GlassKind
from studio.services.lists.glass import GlassRecord
from studio.services.lists.known_glass import KnownGlass

AT_ONCE = 500
MORE = {
    "strain": "strain_point_c",
    "annealing": "annealing_point_c",
    "softening": "softening_point_c",
    "expansion": "expansion",
    "sulphur": "carries_sulphur",
    "copper": "carries_copper",
    "lead": "carries_lead",
    "silver": "carries_silver",
    "note": "note",
}
"""By the column of a list, the field of a kind."""
FIELDS = ("family", "maker", "code", "colour", "form", "look", "thickness_mm", *MORE.values())


@transaction.atomic
def kinds_make(*, kinds: Sequence[KnownGlass]) -> list[GlassKind]:
    """A row for each, in their order."""
    return kinds_write(records=[GlassRecord(kind) for kind in kinds], tick=lambda _: None)


@transaction.atomic
def kinds_write(*, records: Sequence[GlassRecord], tick: Tick) -> list[GlassKind]:
    """A row for each: made for one without a key, else changed; in their order."""
    families = {family.name: family for family in GlassFamily.objects.all()}
    rows: list[GlassKind] = []
    for first in range(0, len(records), AT_ONCE):
        batch = records[first : first + AT_ONCE]
        keys = [record.kind.key for record in batch if record.kind.key is not None]
        standing = GlassKind.objects.in_bulk(keys)
        for record in batch:
            row = standing.get(record.kind.key or 0) or GlassKind()
            for name, value in _values(record, families).items():
                setattr(row, name, value)
            row.clean_fields(exclude=["family"])
            rows.append(row)
        made = rows[first:]
        GlassKind.objects.bulk_create(row for row in made if row.pk is None)
        GlassKind.objects.bulk_update([row for row in made if row.pk in standing], FIELDS)
        tick(len(rows))
    return rows


def _values(record: GlassRecord, families: Mapping[str, GlassFamily]) -> dict[str, Any]:
    kind = record.kind
    return {
        "family": families[kind.family],
        "maker": kind.maker,
        "code": kind.code,
        "colour": kind.colour,
        "form": kind.form,
        "look": kind.look,
        "thickness_mm": kind.thickness,
        **{MORE[name]: value for name, value in record.more.items()},
    }
