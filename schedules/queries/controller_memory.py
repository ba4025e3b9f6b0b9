"""What the controllers remember, and whether it is what is meant to be fired."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Max

from schedules.models import MemorySlot, Revision
from studio.models import Kiln

EARLIER_SHOWN = 20


@dataclass(frozen=True)
class KeyedSlot:
    """A slot as it stands; `newest` is the number of its schedule's newest revision."""

    row: MemorySlot
    newest: int | None

    @property
    def is_stale(self) -> bool:
        """Whether a newer revision of its schedule was written since."""
        revision = self.row.revision
        return revision is not None and self.newest is not None and revision.number < self.newest


@dataclass(frozen=True)
class ControllerMemory:
    """A kiln's slots that hold something, what they held before, and those that nobody keyed."""

    kiln: Kiln
    slots: list[KeyedSlot]
    earlier: list[MemorySlot]
    free: list[int]


def controller_memory(kiln: Kiln) -> ControllerMemory:
    """Three queries, however many slots."""
    slots = _with_newest(_standing([kiln.pk]))
    rows = MemorySlot.objects.filter(kiln=kiln, replaced_at__isnull=False)
    earlier = rows.select_related("revision__schedule", "keyed_by").order_by("-replaced_at")
    taken = {each.row.slot for each in slots}
    free = [number for number in range(1, (kiln.memory_slots or 0) + 1) if number not in taken]
    return ControllerMemory(kiln, slots, list(earlier[:EARLIER_SHOWN]), free)


@dataclass(frozen=True)
class MemoryOfRevision:
    """Where a revision stands in a kiln's controller, and where another of its schedule does."""

    here: list[KeyedSlot]
    other: list[KeyedSlot]
    first_free: int | None


def memory_of_revision(revision: Revision, kiln: Kiln) -> MemoryOfRevision:
    """Two queries."""
    standing = _standing([kiln.pk])
    of_schedule = [
        row
        for row in standing
        if row.revision is not None and row.revision.schedule_id == revision.schedule_id
    ]
    slots = _with_newest(of_schedule)
    taken = {row.slot for row in standing}
    free = (number for number in range(1, (kiln.memory_slots or 0) + 1) if number not in taken)
    return MemoryOfRevision(
        here=[each for each in slots if each.row.revision_id == revision.pk],
        other=[each for each in slots if each.row.revision_id != revision.pk],
        first_free=next(free, None),
    )


def _standing(kilns: Iterable[int]) -> list[MemorySlot]:
    rows = MemorySlot.objects.filter(kiln__in=kilns, replaced_at=None)
    return list(rows.select_related("revision__schedule", "keyed_by"))


def _with_newest(rows: Sequence[MemorySlot]) -> list[KeyedSlot]:
    schedules = {row.revision.schedule_id for row in rows if row.revision is not None}
    newest = dict(
        Revision.objects.filter(schedule__in=schedules)
        .order_by()
        .values_list("schedule")
        .annotate(newest=Max("number"))
    )
    return [
        KeyedSlot(row, None if row.revision is None else newest.get(row.revision.schedule_id))
        for row in rows
    ]
