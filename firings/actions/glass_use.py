"""What a loaded piece takes off the glass shelf, and gives back."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.models import GlassUse, LoadedPiece
from studio.actions import stock_use
from studio.core_inputs import glass_of
from studio.models import GlassKind, GlassLot, Measure, Person
from studio.queries.stock import measure_of
from studio.services.cutting import mass_of
from studio.services.stock import Rectangle


@transaction.atomic
def glass_take(
    *,
    loaded: LoadedPiece,
    kind: GlassKind,
    by: Person,
    size: Rectangle | None = None,
    layers: int | None = None,
    amount: int | None = None,
    lot: GlassLot | None = None,
    count_up: bool = False,
    by_layers: bool = False,
) -> GlassUse:
    """Layers of a size, of sheet; else an amount in the measure's step. `ValidationError` as of
    `stock_use`: with the code "too_little" where less is there."""
    reason = f"{loaded.piece}, firing {loaded.firing_id}"[:200]
    if size is not None:
        layers = layers or 1
        movements = stock_use.take_layers(
            kind=kind, by=by, wanted=size, layers=layers, lot=lot, reason=reason, count_up=count_up
        )
    elif amount is not None:
        layers = None
        movements = stock_use.take_amount(
            kind=kind, by=by, amount=amount, lot=lot, reason=reason, count_up=count_up
        )
    else:
        raise ValidationError("Say how much is taken: a size and layers, or an amount.")
    use = GlassUse(
        loaded_piece=loaded,
        kind=kind,
        by_layers=by_layers,
        length_mm=size.length if size else None,
        width_mm=size.width if size else None,
        layers=layers,
    )
    use.full_clean()
    use.save()
    use.movements.set(movements)
    return use


@transaction.atomic
def glass_give_back(*, use: GlassUse, by: Person) -> GlassUse:
    """Its glass lies on the shelf again; told where it does already."""
    use = GlassUse.objects.select_for_update().get(pk=use.pk)
    if use.given_back_at is not None:
        raise ValidationError("That is on the shelf again already.", code="given_back")
    stock_use.give_back(
        movements=list(use.movements.select_related("lot")),
        by=by,
        blank=use.size,
        reason=f"not used in firing {use.loaded_piece.firing_id}",
    )
    use.given_back_at = timezone.now()
    use.save(update_fields=["given_back_at"])
    return use


@transaction.atomic
def load_give_back(*, loads: Iterable[LoadedPiece], by: Person) -> None:
    """All that these loaded pieces took, the last taken first."""
    taken = list(
        GlassUse.objects.filter(loaded_piece__in=loads, given_back_at=None).order_by("-pk")
    )
    stock_use.hold({use.kind_id for use in taken})
    for use in taken:
        glass_give_back(use=use, by=by)


@transaction.atomic
def layers_follow(
    *, loaded: LoadedPiece, by: Person, off_shelf: bool, count_up: bool = False
) -> GlassUse | None:
    """Brings the shelf to what the piece's own facts say: its glass by layers and size, or by the
    mass of its footprint; taken anew where that changed, given back where it is not wanted.

    None where nothing is taken, also because the facts do not tell how much.
    """
    standing = loaded.glass_uses.filter(by_layers=True, given_back_at=None).first()
    needed = _needed(loaded) if off_shelf else None
    if standing is not None:
        if needed is not None and _is_as_needed(standing, needed):
            return standing
        stock_use.hold({standing.kind_id, *([] if needed is None else [needed[0].pk])})
        glass_give_back(use=standing, by=by)
    if needed is None:
        return None
    kind, size, layers, amount = needed
    return glass_take(
        loaded=loaded,
        kind=kind,
        by=by,
        size=size,
        layers=layers,
        amount=amount,
        count_up=count_up,
        by_layers=True,
    )


Needed = tuple[GlassKind, Rectangle | None, int | None, int | None]


def _needed(loaded: LoadedPiece) -> Needed | None:
    kind = loaded.glass
    footprint = loaded.footprint
    if kind is None or footprint is None or not kind.lots.exists():
        return None
    measure = measure_of(kind)
    if measure == Measure.AREA:
        return kind, footprint, loaded.layers, None
    if measure == Measure.MASS and loaded.thickest_mm:
        density = glass_of(kind).density
        return kind, None, None, mass_of(footprint, loaded.thickest_mm, density)
    return None


def _is_as_needed(use: GlassUse, needed: Needed) -> bool:
    kind, size, layers, amount = needed
    if amount is None:
        return (use.kind_id, use.size, use.layers) == (kind.pk, size, layers)
    taken = -sum(use.movements.values_list("amount", flat=True))
    return (use.kind_id, taken) == (kind.pk, amount)
