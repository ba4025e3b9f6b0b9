"""Glass taken off the shelf for a piece, and given back when the piece is not fired."""

from collections.abc import Iterable, Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from studio import formats
from studio.actions import stock
from studio.models import GlassKind, GlassLot, Measure, Person, StockMovement, StockSize
from studio.services.cutting import Cut, SheetThere, cut_layers
from studio.services.stock import Rectangle, TooLittleError

FOUND = "more was there than the book said"


@transaction.atomic
def take_layers(
    *,
    kind: GlassKind,
    by: Person,
    wanted: Rectangle,
    layers: int,
    lot: GlassLot | None = None,
    reason: str = "",
    count_up: bool = False,
) -> list[StockMovement]:
    """Layers of sheet, each cut out of the smallest piece that holds it; offcuts go back.

    From the named lot, or from all of the kind. What is short is counted in first where
    `count_up`; else the `ValidationError` has the code "too_little", or "no_lot" where the shelf
    never had this kind.
    """
    lots = _locked_lots(kind, lot)
    try:
        cuts = _cuts(lots, wanted, layers)
    except TooLittleError as too_little:
        if not count_up:
            said = f"{too_little.there} of {layers}" if too_little.there else "No"
            raise ValidationError(
                f"{said} layer{'' if layers == 1 else 's'} of {formats.size(wanted)} can be cut of "
                f"{kind}: nothing else that is there is large enough. If there is, count it.",
                code="too_little",
            ) from too_little
        _count_in(lots, by, wanted, layers - too_little.there)
        cuts = _cuts(lots, wanted, layers)
    by_key = {each.pk: each for each in lots}
    return [
        stock.stock_cut(
            lot=by_key[cut.lot],  # type: ignore[index]
            by=by,
            sheet=cut.sheet,
            wanted=wanted,
            offcuts=cut.offcuts,
            reason=reason,
        )
        for cut in cuts
    ]


@transaction.atomic
def take_amount(
    *,
    kind: GlassKind,
    by: Person,
    amount: int,
    lot: GlassLot | None = None,
    reason: str = "",
    count_up: bool = False,
) -> list[StockMovement]:
    """An amount of what is no sheet, from the named lot or the first in first."""
    lots = _locked_lots(kind, lot)
    short = amount - sum(each.remaining for each in lots)
    if short > 0 and count_up:
        newest = max(lots, key=lambda each: (each.received_on, each.pk))
        stock.stock_count(lot=newest, by=by, found=newest.remaining + short, reason=FOUND)
    if lot is not None:
        return [stock.stock_take(lot=lot, by=by, what="cut", amount=amount, reason=reason)]
    return stock.stock_take_first_in(kind=kind, by=by, what="cut", amount=amount, reason=reason)


@transaction.atomic
def give_back(
    *,
    movements: Sequence[StockMovement],
    by: Person,
    blank: Rectangle | None = None,
    reason: str = "",
) -> None:
    """What was taken is there again. Where an offcut of it was used meanwhile, the sheet can't be
    whole again: the piece that was cut, `blank`, comes back instead."""
    hold({movement.lot.kind_id for movement in movements})
    for movement in sorted(movements, key=lambda each: -each.pk):
        if StockMovement.objects.filter(takes_back=movement).exists():
            continue
        try:
            with transaction.atomic():
                stock.movement_take_back(movement=movement, by=by, reason=reason)
        except ValidationError:
            if blank is None:
                raise
            stock.stock_return(lot=movement.lot, by=by, amount=1, size=blank, reason=reason)


def hold(kinds: Iterable[GlassKind | int]) -> list[GlassLot]:
    """Lock all lots of these kinds until the transaction ends, in one order for everybody, so that
    nobody waits for somebody who waits for them. Whoever moves glass of several lots begins here.
    """
    lots = GlassLot.objects.select_for_update().filter(kind__in=list(kinds))
    return list(lots.order_by("pk"))


def _locked_lots(kind: GlassKind, lot: GlassLot | None) -> list[GlassLot]:
    """In the order in which they came."""
    held = [each for each in hold([kind]) if lot is None or each.pk == lot.pk]
    if not held:
        raise ValidationError(f"No lot of {kind} ever came to the shelf.", code="no_lot")
    return sorted(held, key=lambda each: (each.received_on, each.pk))


def _cuts(lots: Sequence[GlassLot], wanted: Rectangle, layers: int) -> list[Cut]:
    if any(each.measure != Measure.AREA for each in lots):
        raise ValidationError("Only sheet is cut in layers; write an amount instead.")
    place = {lot.pk: number for number, lot in enumerate(lots)}
    sizes = StockSize.objects.filter(lot__in=lots, pieces__gt=0).order_by("pk")
    there = [SheetThere(each.lot_id, each.rectangle, each.pieces) for each in sizes]
    return cut_layers(sorted(there, key=lambda each: place[each.lot]), wanted, layers)  # type: ignore[index]


def _count_in(lots: Sequence[GlassLot], by: Person, size: Rectangle, pieces: int) -> None:
    newest = lots[-1]
    there = StockSize.objects.filter(
        lot=newest, length_mm=size.length, width_mm=size.width
    ).values_list("pieces", flat=True)
    found = sum(there) + pieces
    stock.stock_count(lot=newest, by=by, found=found, size=size, reason=FOUND)
