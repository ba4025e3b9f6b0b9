"""What is on the glass shelf, for its pages and for the check of its sums."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TypeVar

import django_filters
from django import forms
from django.db.models import (
    BigIntegerField,
    Case,
    CharField,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from studio.core_inputs import glass_in_piece
from studio.models import (
    MEASURES_OF_FORM,
    GlassFamily,
    GlassForm,
    GlassKind,
    GlassLot,
    StockLevel,
    StockMovement,
    StockSize,
)
from studio.queries.glass import SEARCHED
from studio.queries.names import ByName
from studio.queries.words import contains, every_word
from studio.services.glass_match import GlassRemark, fit, fit_with
from studio.services.stock import Rectangle, cost_of, sizes_there

Row = TypeVar("Row", GlassKind, StockSize)

_MEASURE_BY_FORM = Case(
    *(When(form=form, then=Value(each[0])) for form, each in MEASURES_OF_FORM.items()),
    output_field=CharField(),
)


def _sum_of_lots() -> Coalesce:
    lots = GlassLot.objects.filter(kind=OuterRef("pk"), remaining__gt=0).order_by()
    total = lots.values("kind").annotate(total=Sum("remaining")).values("total")
    return Coalesce(Subquery(total, output_field=BigIntegerField()), 0)


def kinds_on_the_shelf() -> QuerySet[GlassKind]:
    """Kinds that have or had a lot or a level, each with `there` in its `measure`'s step."""
    lots = GlassLot.objects.filter(kind=OuterRef("pk")).order_by()
    levels = StockLevel.objects.filter(kind=OuterRef("pk"))
    return (
        GlassKind.objects.filter(Exists(lots) | Exists(levels))
        .select_related("family", "stock_level")
        .annotate(
            measure=Coalesce(Subquery(lots.values("measure")[:1]), _MEASURE_BY_FORM),
            there=_sum_of_lots(),
        )
        .order_by(ByName("family__name"), ByName("colour"), "form", "thickness_mm", "pk")
    )


def low_kinds() -> QuerySet[GlassKind]:
    """Those that are below their level: the shopping list."""
    return kinds_on_the_shelf().filter(archived_at=None, stock_level__low_below__gt=F("there"))


class ShelfFilter(django_filters.FilterSet):
    family = django_filters.ModelChoiceFilter(
        queryset=GlassFamily.objects.all(), empty_label="all families"
    )
    form = django_filters.ChoiceFilter(choices=GlassForm.choices, empty_label="all forms")
    thickness = django_filters.NumberFilter(
        field_name="thickness_mm", label="Thickness, mm", min_value=0.1, max_value=100
    )
    colour = django_filters.CharFilter(method="of_colour", label="Colour")
    words = django_filters.CharFilter(method="with_words", label="Words")
    goes_with = django_filters.ModelMultipleChoiceFilter(
        queryset=GlassKind.objects.select_related("family"),
        method="that_go_with",
        widget=forms.MultipleHiddenInput,
    )
    low = django_filters.BooleanFilter(
        method="only_low", label="Only what runs low", widget=forms.CheckboxInput
    )

    class Meta:
        model = GlassKind
        fields = ["family", "form"]

    @property
    def beside(self) -> list[GlassKind]:
        """The glasses with which what is found is to go, as they were named."""
        chosen = self.form.cleaned_data["goes_with"] if self.form.is_valid() else ()
        by_pk = {str(kind.pk): kind for kind in chosen}
        return [by_pk[pk] for pk in dict.fromkeys(self.data.getlist("goes_with")) if pk in by_pk]

    @property
    def is_narrowed(self) -> bool:
        """Whether anything of what is folded away is asked for."""
        return any(self.data.get(name) for name in ("family", "form", "thickness", "words", "low"))

    @property
    def among_them(self) -> list[GlassRemark]:
        """What is to be said of those in one piece."""
        return fit([glass_in_piece(kind) for kind in self.beside])

    def of_colour(self, kinds: QuerySet[GlassKind], _: str, words: str) -> QuerySet[GlassKind]:
        return kinds.filter(every_word(words, partial(contains, ["colour"])))

    def that_go_with(
        self, kinds: QuerySet[GlassKind], _: str, beside: Iterable[GlassKind]
    ) -> QuerySet[GlassKind]:
        """Of their family; what reacts with them is left in, and told by `told_beside`."""
        families = {kind.family_id for kind in beside}
        if len(families) > 1:
            return kinds.none()
        return kinds.filter(family__in=families) if families else kinds

    def with_words(self, kinds: QuerySet[GlassKind], _: str, words: str) -> QuerySet[GlassKind]:
        return kinds.filter(every_word(words, partial(contains, SEARCHED)))

    def only_low(self, kinds: QuerySet[GlassKind], _: str, low: bool) -> QuerySet[GlassKind]:
        return kinds.filter(stock_level__low_below__gt=F("there")) if low else kinds


def pieces_that_hold(wanted: Rectangle, kinds: QuerySet[GlassKind]) -> QuerySet[StockSize]:
    """Sheets and offcuts of these kinds out of which it can be cut, the smallest first."""
    return (
        StockSize.objects.filter(
            length_mm__gte=wanted.length,
            width_mm__gte=wanted.width,
            pieces__gt=0,
            lot__kind__in=kinds.order_by().values("pk"),
        )
        .select_related("lot__kind__family")
        .annotate(area=F("length_mm") * F("width_mm"))
        .order_by("area", "lot__received_on", "pk")
    )


def told_beside(
    rows: Iterable[Row], beside: Iterable[GlassKind]
) -> list[tuple[Row, list[GlassRemark]]]:
    """Each with what is to be said of its glass in one piece with these; nothing without these."""
    others = [glass_in_piece(kind) for kind in beside]

    def told(row: Row) -> list[GlassRemark]:
        kind = row.lot.kind if isinstance(row, StockSize) else row
        return fit_with(others, glass_in_piece(kind)) if others else []

    return [(row, told(row)) for row in rows]


@dataclass(frozen=True)
class OnTheShelf:
    """What is there of one kind: its sum, and its lots that are not used up, the first in first."""

    there: int
    measure: str
    lots: list[GlassLot]


MOST_LOTS = 50


def on_the_shelf(kind: GlassKind) -> OnTheShelf | None:
    """None where no lot of it was ever received. At most `MOST_LOTS` lots are named."""
    lots = GlassLot.objects.filter(kind=kind)
    measure = lots.values_list("measure", flat=True).first()
    if measure is None:
        return None
    there = lots.aggregate(total=Sum("remaining"))["total"]
    left = lots.filter(remaining__gt=0).prefetch_related("sizes")
    return OnTheShelf(there, measure, list(left[:MOST_LOTS]))


def measure_of(kind: GlassKind) -> str:
    standing = GlassLot.objects.filter(kind=kind).values_list("measure", flat=True).first()
    return standing or MEASURES_OF_FORM[kind.form][0]


def movements_of(lot: GlassLot) -> QuerySet[StockMovement]:
    """Newest first, each with who wrote it, what took it back and the offcuts of a cut."""
    return lot.movements.select_related("by", "taken_back_by").prefetch_related("parts")


USED = (StockMovement.What.CUT, StockMovement.What.BROKEN, StockMovement.What.SOLD)


def costed(
    movements: Iterable[StockMovement], lot: GlassLot
) -> list[tuple[StockMovement, Decimal | None]]:
    """Each line of `movements_of` with what its glass cost, unrounded and without its offcuts;
    None where the price is not known, nothing was used, or it is taken back."""

    def cost(line: StockMovement) -> Decimal | None:
        counts = line.what in USED and getattr(line, "taken_back_by", None) is None
        return cost_of(line.used, lot.received, lot.price) if counts else None

    return [(line, cost(line)) for line in movements]


def lots_that_differ() -> list[int]:
    """The lots whose kept sums are not what their movements come to: by amount or by size."""
    total = Coalesce(Sum("movements__amount"), 0)
    differ = set(
        GlassLot.objects.order_by()
        .annotate(total=total)
        .filter(~Q(total=F("remaining")))
        .values_list("pk", flat=True)
    )
    moved: dict[int, list[tuple[Rectangle, int]]] = {}
    by_size = StockMovement.objects.order_by().filter(pieces__isnull=False)
    for lot, length, width, pieces in by_size.values_list("lot", "length_mm", "width_mm").annotate(
        total=Sum("pieces")
    ):
        moved.setdefault(lot, []).append((Rectangle(length, width), pieces))
    kept: dict[int, dict[Rectangle, int]] = {}
    for size in StockSize.objects.order_by():
        kept.setdefault(size.lot_id, {})[size.rectangle] = size.pieces
    for lot in moved.keys() | kept.keys():
        if sizes_there(moved.get(lot, [])) != kept.get(lot, {}):
            differ.add(lot)
    return sorted(differ)
