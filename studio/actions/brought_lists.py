"""The lists of this app that people bring in: what they are held against, and how they are written.

Each is a `studio.lists.BroughtList`.
"""

from collections.abc import Sequence
from typing import Any

from studio.actions.glass_in_bulk import kinds_make, kinds_write
from studio.actions.stock_in_bulk import lots_put_right, lots_receive
from studio.lists import Tick
from studio.models import GlassKind, GlassLot, ListImport, Person, Studio
from studio.queries.known import known_glass, known_shelf
from studio.services.lists import glass, shelf
from studio.services.lists.columns import Column
from studio.services.lists.fates import Judged
from studio.services.lists.glass import GlassJudge, GlassShelf
from studio.services.lists.known_shelf import LotChange, NewLot, Shelf
from studio.services.lists.shelf import ShelfJudge
from studio.services.lists.values import Reading

AT_ONCE = 500
REASONS = "studio/_list_reason_words.html"


class BroughtShelf:
    act = "stock.write"
    columns: tuple[Column, ...] = shelf.COLUMNS
    asks: frozenset[str] = frozenset()
    reasons = REASONS

    def known(self, by: Person) -> Shelf:
        return known_shelf()

    def judge(self, known: Shelf, reading: Reading) -> ShelfJudge:
        return ShelfJudge(known, reading)

    def hold(self, rows: Sequence[Judged]) -> None:
        """As who receives locks the kind, and who takes the lot."""
        plans = [row.plan for row in rows]
        kinds = {plan.glass.key for plan in plans if isinstance(plan, NewLot)}
        lots = {plan.lot.key for plan in plans if isinstance(plan, LotChange)}
        rows_lock(GlassKind, kinds - {None})
        rows_lock(GlassLot, lots)

    def write(self, rows: Sequence[Judged], *, taken: ListImport, reason: str, tick: Tick) -> None:
        by = taken.by
        plans = [row.plan for row in rows]
        new = [plan for plan in plans if isinstance(plan, NewLot)]
        changes = [plan for plan in plans if isinstance(plan, LotChange)]
        currency = Studio.current().currency
        lots_receive(
            lots=new, kinds=self._kinds(new), by=by, currency=currency, reason=reason, tick=tick
        )
        lots_put_right(
            changes=changes, by=by, reason=reason, tick=lambda done: tick(len(new) + done)
        )

    def _kinds(self, lots: Sequence[NewLot]) -> dict[int, GlassKind]:
        """By the place of a lot, its kind; those that rows make are made, each once."""
        fresh = list(dict.fromkeys(lot.glass for lot in lots if lot.glass.key is None))
        made = dict(zip(fresh, kinds_make(kinds=fresh), strict=True))
        standing = GlassKind.objects.in_bulk([lot.glass.key for lot in lots if lot.glass.key])
        return {
            at: made[lot.glass] if lot.glass.key is None else standing[lot.glass.key]
            for at, lot in enumerate(lots)
        }


class BroughtGlass:
    act = "glass.change"
    columns: tuple[Column, ...] = glass.COLUMNS
    asks: frozenset[str] = frozenset()
    reasons = REASONS

    def known(self, by: Person) -> GlassShelf:
        return known_glass()

    def judge(self, known: GlassShelf, reading: Reading) -> GlassJudge:
        return GlassJudge(known, reading)

    def hold(self, rows: Sequence[Judged]) -> None:
        rows_lock(GlassKind, {row.plan.kind.key for row in rows} - {None})

    def write(self, rows: Sequence[Judged], *, taken: ListImport, reason: str, tick: Tick) -> None:
        kinds_write(records=[row.plan for row in rows], tick=tick)


def rows_lock(model: Any, keys: set[Any]) -> None:
    """In the order of their keys, as everybody does, so that nobody waits in a ring."""
    in_order = sorted(keys)
    for first in range(0, len(in_order), AT_ONCE):
        some = in_order[first : first + AT_ONCE]
        list(model.objects.select_for_update().filter(pk__in=some).order_by("pk").values_list("pk"))
