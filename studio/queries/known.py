"""What rows of a list are held against: kinds of glass and lots, as the core knows them."""

from collections import defaultdict

from django.utils import timezone

from studio.models import GlassFamily, GlassKind, GlassLot, StockSize, Studio
from studio.services.lists.glass import GlassRecord, GlassShelf
from studio.services.lists.known_glass import KnownGlass
from studio.services.lists.known_shelf import KnownLot, Shelf
from studio.services.stock import Rectangle


def known_shelf() -> Shelf:
    """Five queries, however much there is."""
    sizes: defaultdict[int, dict[Rectangle, int]] = defaultdict(dict)
    for lot, length, width, pieces in StockSize.objects.order_by("pk").values_list(
        "lot", "length_mm", "width_mm", "pieces"
    ):
        sizes[lot][Rectangle(length, width)] = pieces
    lots = {
        lot.pk: KnownLot(
            key=lot.pk,
            glass=lot.kind_id,
            measure=lot.measure,
            received=lot.received_on,
            supplier=lot.supplier,
            batch=lot.batch,
            place=lot.place,
            price=lot.price,
            currency=lot.currency,
            remaining=lot.remaining,
            sizes=sizes.get(lot.pk, {}),
        )
        for lot in GlassLot.objects.order_by("pk")
    }
    measures = _measures()
    return Shelf(
        families=_families(),
        kinds=tuple(_known(kind, measures) for kind in _kinds()),
        lots=lots,
        currency=Studio.current().currency,
        today=timezone.localdate(),
    )


def known_glass() -> GlassShelf:
    measures = _measures()
    records = {
        kind.pk: GlassRecord(
            _known(kind, measures),
            {
                "strain": kind.strain_point_c,
                "annealing": kind.annealing_point_c,
                "softening": kind.softening_point_c,
                "expansion": kind.expansion,
                "sulphur": kind.carries_sulphur,
                "copper": kind.carries_copper,
                "lead": kind.carries_lead,
                "silver": kind.carries_silver,
                "note": kind.note,
            },
        )
        for kind in _kinds()
    }
    return GlassShelf(_families(), records)


def _families() -> tuple[str, ...]:
    return tuple(GlassFamily.objects.order_by("pk").values_list("name", flat=True))


def _kinds() -> list[GlassKind]:
    return list(GlassKind.objects.select_related("family").order_by("pk"))


def _measures() -> dict[int, str]:
    """By the kind that has lots, how they are measured."""
    return dict(GlassLot.objects.order_by().values_list("kind", "measure").distinct())


def _known(kind: GlassKind, measures: dict[int, str]) -> KnownGlass:
    return KnownGlass(
        key=kind.pk,
        family=kind.family.name,
        maker=kind.maker,
        code=kind.code,
        colour=kind.colour,
        form=kind.form,
        look=kind.look,
        thickness=kind.thickness_mm,
        measure=measures.get(kind.pk, ""),
    )
