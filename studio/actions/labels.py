"""Gives lots of glass the codes of their labels."""

from collections.abc import Iterable

from studio.models import GlassLot, LotLabel


def lot_labels_ready(*, lots: Iterable[GlassLot]) -> list[LotLabel]:
    """The label of each lot, in their order; one that has none yet gets it."""
    lots = list(lots)
    LotLabel.objects.bulk_create([LotLabel(lot=each) for each in lots], ignore_conflicts=True)
    found = {each.lot_id: each for each in LotLabel.objects.filter(lot__in=lots)}
    for lot in lots:
        found[lot.pk].lot = lot  # with what was read ahead
    return [found[lot.pk] for lot in lots]
