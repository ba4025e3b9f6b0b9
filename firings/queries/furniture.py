"""Moulds and shelves with what was fired on them since they were coated."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from firings.models import FiringState, LoadedPiece
from firings.queries.visible import visible_load
from schedules.models import Process
from studio.models import FurnitureCoat, KilnFurniture, Person
from studio.queries.names import ByName

FIRED = (FiringState.FIRING, FiringState.OPENED)
MOST_PIECES = 50


@dataclass(frozen=True)
class Coat:
    """The latest, None where none is on record; then all firings on it count."""

    coat: FurnitureCoat | None
    firings: int
    full_fuses: int

    @property
    def is_used_up(self) -> bool:
        """A full fuse was fired on it: wash it before the next (common practice, no source)."""
        return self.full_fuses > 0


@dataclass(frozen=True)
class FurnitureRow:
    furniture: KilnFurniture
    coat: Coat


def furniture_rows() -> list[FurnitureRow]:
    """What is in use: three queries, however many."""
    rows = list(
        KilnFurniture.objects.filter(archived_at=None)
        .select_related("kiln")
        .order_by(ByName("name"), "pk")
    )
    coats = coats_of(row.pk for row in rows)
    return [FurnitureRow(row, coats[row.pk]) for row in rows]


def coats_of(furniture: Iterable[int], before: datetime | None = None) -> dict[int, Coat]:
    """By number; what was started until `before` alone counts. Two queries."""
    numbers = list(furniture)
    latest: dict[int, FurnitureCoat] = {}
    coats = FurnitureCoat.objects.filter(furniture__in=numbers).order_by("coated_at", "pk")
    for coat in coats if before is None else coats.filter(coated_at__lt=before):
        latest[coat.furniture_id] = coat
    fired = LoadedPiece.objects.filter(lies_on__in=numbers, firing__state__in=FIRED).order_by()
    if before is not None:
        fired = fired.filter(firing__started_at__lt=before)
    seen: dict[int, dict[int, bool]] = {number: {} for number in numbers}
    rows = fired.values_list(
        "lies_on", "firing", "firing__started_at", "firing__revision__schedule__process"
    )
    for number, firing, started_at, process in rows.distinct():
        standing = latest.get(number)
        if started_at is not None and (standing is None or started_at >= standing.coated_at):
            seen[number][firing] = process == Process.FULL_FUSE
    return {
        number: Coat(latest.get(number), len(seen[number]), sum(seen[number].values()))
        for number in numbers
    }


def made_on(furniture: KilnFurniture, reader: Person) -> QuerySet[LoadedPiece]:
    """Pieces that lay on or in it, the latest first, as far as the reader sees them."""
    load = visible_load(reader).filter(lies_on=furniture, firing__state__in=FIRED)
    return load.select_related(
        "piece__maker", "firing__kiln", "firing__revision__schedule"
    ).order_by("-firing__started_at", "pk")[:MOST_PIECES]
