"""What comes to the glass shelf and goes from it: movements of lots, under a lock on the lots."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from studio import formats
from studio.models import (
    MEASURES_OF_FORM,
    GlassKind,
    GlassLot,
    Person,
    StockLevel,
    StockMovement,
    StockSize,
    Studio,
)
from studio.services.stock import (
    HeldLot,
    Rectangle,
    TooLittleError,
    draw_first_in,
    fit_together,
)

What = StockMovement.What


@transaction.atomic
def lot_receive(
    *,
    kind: GlassKind,
    by: Person,
    amount: int,
    measure: str = "",
    size: Rectangle | None = None,
    received_on: date | None = None,
    price: Decimal | None = None,
    supplier: str = "",
    batch: str = "",
    place: str = "",
) -> GlassLot:
    """A lot on the shelf. Of sheet, `amount` is the number of pieces of `size`; else it is in the
    measure's step."""
    GlassKind.objects.select_for_update().get(pk=kind.pk)
    # A kind is measured one way, or its lots would have no sum.
    standing = GlassLot.objects.filter(kind=kind).values_list("measure", flat=True).first()
    measure = measure or standing or MEASURES_OF_FORM[kind.form][0]
    if measure not in MEASURES_OF_FORM[kind.form] and measure != standing:
        raise ValidationError({"measure": f"No {kind.get_form_display()} is measured by that."})
    if standing and measure != standing:
        raise ValidationError({"measure": f"{kind} is measured by {standing}, as it was before."})
    pieces = amount if size else None
    if size:
        amount *= size.area
    lot = GlassLot(
        kind=kind,
        measure=measure,
        price=price,
        currency=Studio.current().currency,
        supplier=supplier,
        batch=batch,
        place=place,
        received=amount,
    )
    if lot.is_sheet != (size is not None):
        raise ValidationError("Sheet, and only sheet, has a size.")
    if received_on:
        lot.received_on = received_on
    lot.full_clean()
    lot.save()
    _move(lot, What.RECEIVED, by, amount=amount, size=size, pieces=pieces)
    return lot


@transaction.atomic
def stock_cut(
    *,
    lot: GlassLot,
    by: Person,
    sheet: Rectangle,
    wanted: Rectangle | None = None,
    offcuts: Sequence[Rectangle] = (),
    reason: str = "",
) -> StockMovement:
    """One sheet or offcut is taken and cut; offcuts go back by their sizes. What does not come
    back is used. Without `wanted`, the whole piece is used but for the offcuts."""
    lot = _locked(lot)
    parts = [*offcuts, *([wanted] if wanted else [])]
    if not fit_together(sheet, parts):
        raise ValidationError(
            f"That doesn’t come out of one piece of {formats.size(sheet)}.", code="does_not_fit"
        )
    cut = _move(lot, What.CUT, by, size=sheet, pieces=-1, reason=reason)
    for offcut in offcuts:
        _move(lot, What.OFFCUT, by, size=offcut, pieces=1, reason=reason, part_of=cut)
    return cut


@transaction.atomic
def stock_take(
    *,
    lot: GlassLot,
    by: Person,
    what: str,
    amount: int,
    size: Rectangle | None = None,
    reason: str = "",
) -> StockMovement:
    """Cut, broken or sold from a named lot; of sheet, `amount` is the number of whole pieces."""
    lot = _locked(lot)
    if amount <= 0:
        raise ValidationError("More than nothing is taken.")
    if size:
        return _move(lot, what, by, size=size, pieces=-amount, reason=reason)
    return _move(lot, what, by, amount=-amount, reason=reason)


@transaction.atomic
def stock_take_first_in(
    *, kind: GlassKind, by: Person, what: str, amount: int, reason: str = ""
) -> list[StockMovement]:
    """An amount of a kind from its lots, the first in first. Of sheet a piece is named instead."""
    lots = list(GlassLot.objects.select_for_update().filter(kind=kind).order_by("pk"))
    if any(lot.is_sheet for lot in lots):
        raise ValidationError("Of sheet, say which piece is taken.")
    by_key = {lot.pk: lot for lot in lots}
    in_order = sorted(lots, key=lambda lot: (lot.received_on, lot.pk))
    held = [HeldLot(lot.pk, lot.remaining, lot.received, lot.price) for lot in in_order]
    try:
        drawn = draw_first_in(held, amount)
    except TooLittleError as too_little:
        measure = lots[0].measure if lots else MEASURES_OF_FORM[kind.form][0]
        raise _too_little(too_little.there, amount, measure) from too_little
    except ValueError as error:
        raise ValidationError("More than nothing is taken.") from error
    return [
        _move(by_key[each.key], what, by, amount=-each.amount, reason=reason)  # type: ignore[index]
        for each in drawn
    ]


@transaction.atomic
def stock_return(
    *,
    lot: GlassLot,
    by: Person,
    amount: int,
    size: Rectangle | None = None,
    reason: str = "",
) -> StockMovement:
    """What was taken and not used comes back; of sheet, `amount` pieces of `size`."""
    lot = _locked(lot)
    back = amount * size.area if size else amount
    if amount <= 0:
        raise ValidationError("More than nothing comes back.")
    if lot.remaining + back > lot.received:
        raise ValidationError(
            "That is more than was ever taken of this lot. If more is there, count it.",
            code="more_than_taken",
        )
    if size:
        return _move(lot, What.OFFCUT, by, size=size, pieces=amount, reason=reason)
    return _move(lot, What.OFFCUT, by, amount=amount, reason=reason)


@transaction.atomic
def stock_count(
    *,
    lot: GlassLot,
    by: Person,
    found: int,
    size: Rectangle | None = None,
    reason: str = "",
) -> StockMovement:
    """What was found is what is there; also a count that agrees is written."""
    lot = _locked(lot)
    if found < 0:
        raise ValidationError("Nothing is the least that can be found.")
    if size is None:
        return _move(lot, What.COUNTED, by, amount=found - lot.remaining, reason=reason)
    there = StockSize.objects.filter(lot=lot, length_mm=size.length, width_mm=size.width).first()
    pieces = found - (there.pieces if there else 0)
    return _move(lot, What.COUNTED, by, size=size, pieces=pieces, reason=reason)


@transaction.atomic
def movement_take_back(
    *, movement: StockMovement, by: Person, reason: str = ""
) -> list[StockMovement]:
    """The counter-movement of a line, with those of the offcuts that came back with it."""
    lot = _locked(movement.lot)
    first = movement.part_of or movement
    together = [first, *first.parts.select_related("takes_back").order_by("pk")]
    if StockMovement.objects.filter(takes_back__in=together).exists():
        raise ValidationError("That is taken back already.", code="taken_back")
    if first.what == What.TAKEN_BACK:
        raise ValidationError("What takes back is not taken back; write it anew.")
    # Offcuts go before their sheet comes: each step must find what it takes.
    return [
        _move(
            lot,
            What.TAKEN_BACK,
            by,
            amount=-line.amount,
            size=line.rectangle,
            pieces=None if line.pieces is None else -line.pieces,
            reason=reason,
            takes_back=line,
        )
        for line in reversed(together)
    ]


@transaction.atomic
def level_set(*, kind: GlassKind, low_below: int | None) -> None:
    """From what it counts as low; None is never."""
    if low_below is None:
        StockLevel.objects.filter(kind=kind).delete()
        return
    StockLevel.objects.update_or_create(kind=kind, defaults={"low_below": low_below})


def _locked(lot: GlassLot) -> GlassLot:
    return GlassLot.objects.select_for_update().get(pk=lot.pk)


def _too_little(there: int, asked: int, measure: str) -> ValidationError:
    said = f"Only {formats.stock_amount(there, measure)}" if there else "Nothing"
    return ValidationError(
        f"{said} is there, {formats.stock_amount(asked, measure)} is asked for. "
        "If more is there, count it.",
        code="too_little",
    )


def _move(
    lot: GlassLot,
    what: str,
    by: Person,
    *,
    amount: int = 0,
    size: Rectangle | None = None,
    pieces: int | None = None,
    reason: str = "",
    part_of: StockMovement | None = None,
    takes_back: StockMovement | None = None,
) -> StockMovement:
    """One line, and the two sums that stand beside the ledger. The lot is locked by the caller."""
    if lot.is_sheet != (size is not None):
        raise ValidationError("Sheet, and only sheet, has a size.")
    if size is not None and pieces is not None:
        amount = size.area * pieces
        _move_size(lot, size, pieces)
    if lot.remaining + amount < 0:
        raise _too_little(lot.remaining, -amount, lot.measure)
    movement = StockMovement(
        lot=lot,
        what=what,
        by=by,
        amount=amount,
        length_mm=size.length if size else None,
        width_mm=size.width if size else None,
        pieces=pieces,
        reason=reason,
        part_of=part_of,
        takes_back=takes_back,
    )
    movement.full_clean()
    movement.save()
    GlassLot.objects.filter(pk=lot.pk).update(remaining=F("remaining") + amount)
    lot.remaining += amount
    return movement


def _move_size(lot: GlassLot, size: Rectangle, pieces: int) -> None:
    row, _ = StockSize.objects.get_or_create(
        lot=lot, length_mm=size.length, width_mm=size.width, defaults={"pieces": 0}
    )
    if row.pieces + pieces < 0:
        there = f"{row.pieces} of" if row.pieces else "no"
        raise ValidationError(
            f"There is {there} {formats.size(size)} in this lot, {-pieces} asked for. "
            "If more is there, count it.",
            code="too_little",
        )
    row.pieces += pieces
    if row.pieces:
        row.save(update_fields=["pieces"])
    else:
        row.delete()
