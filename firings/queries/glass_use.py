"""What loaded pieces took off the glass shelf, how much that is, and what it cost."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from firings.models import GlassUse, LoadedPiece
from studio.models import GlassKind, GlassLot, StockMovement
from studio.queries.stock import measure_of
from studio.services.stock import cost_of


@dataclass(frozen=True)
class GlassTaken:
    """One use, as the ledger has it: `amount` in the measure's step, offcuts taken off.

    `cost` is unrounded, in `currency`; None where the price of a lot is not known, or its currency
    is another than the first one's.
    """

    use: GlassUse
    amount: int
    measure: str
    lots: tuple[GlassLot, ...]
    cost: Decimal | None
    currency: str

    @property
    def is_given_back(self) -> bool:
        return self.use.given_back_at is not None


def glass_taken(loads: Iterable[LoadedPiece]) -> dict[int, list[GlassTaken]]:
    """By loaded piece, what it took and what of that was given back: four queries at most."""
    movements = StockMovement.objects.order_by("pk").select_related("lot", "taken_back_by")
    uses = (
        GlassUse.objects.filter(loaded_piece__in=[each.pk for each in loads])
        .select_related("kind__family")
        .prefetch_related(
            Prefetch("movements", movements),
            Prefetch("movements__parts", StockMovement.objects.order_by("pk")),
        )
    )
    taken: dict[int, list[GlassTaken]] = {}
    for use in uses:
        taken.setdefault(use.loaded_piece_id, []).append(_taken(use))
    return taken


def _taken(use: GlassUse) -> GlassTaken:
    lots: dict[int, GlassLot] = {}
    total, cost = 0, Decimal(0)
    known = True
    for movement in use.movements.all():
        lot = movement.lot
        lots[lot.pk] = lot
        if getattr(movement, "taken_back_by", None) is not None:
            continue
        each = cost_of(movement.used, lot.received, lot.price)
        total += movement.used
        if each is None or lot.currency != next(iter(lots.values())).currency:
            known = False
        else:
            cost += each
    first = next(iter(lots.values()))
    return GlassTaken(
        use, total, first.measure, tuple(lots.values()), cost if known else None, first.currency
    )


@dataclass(frozen=True)
class LoadedWithGlass:
    """A loaded piece with what it has off the shelf."""

    loaded: LoadedPiece
    taken: list[GlassTaken]


def with_glass(loads: Iterable[LoadedPiece]) -> list[LoadedWithGlass]:
    loads = list(loads)
    taken = glass_taken(loads)
    return [
        LoadedWithGlass(each, [use for use in taken.get(each.pk, []) if not use.is_given_back])
        for each in loads
    ]


@dataclass(frozen=True)
class KindToTake:
    kind: GlassKind
    measure: str


def kind_to_take(pk: int) -> KindToTake | None:
    """None for a kind of which no lot ever came."""
    kind = GlassKind.objects.select_related("family").filter(pk=pk, lots__isnull=False).first()
    return None if kind is None else KindToTake(kind, measure_of(kind))
