"""Gives lots of glass the codes of their labels."""

from collections.abc import Iterable

from studio.models import GlassLot, LotLabel


def lot_labels_ready(*, lots: Iterable[GlassLot]) -> list[LotLabel]:
    """The label of each lot, in their order; one that has none yet gets it."""
    lots = list(lots)
    found = _labels_of(lots)
    if missing := [lot for lot in lots if lot.pk not in found]:
        # Two who print at once both make one; the one that came first stays.
        LotLabel.objects.bulk_create(
            [LotLabel(lot=each) for each in missing], ignore_conflicts=True
        )
        found |= _labels_of(missing)
    for lot in lots:
        found[lot.pk].lot = lot  # with what was read ahead
    return [found[lot.pk] for lot in lots]


def _labels_of(lots: list[GlassLot]) -> dict[int, LotLabel]:
    return {each.lot_id: each for each in LotLabel.objects.filter(lot__in=lots)}
