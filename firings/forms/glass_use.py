"""What a piece takes off the glass shelf: which glass, and then how much of it."""

from typing import Any

from django import forms

from firings.forms.choices import HeadedChoiceField
from firings.models import LoadedPiece
from studio import access, formats
from studio.core_inputs import glass_of
from studio.forms.stock import AmountField, SizeField
from studio.models import GlassKind, GlassLot, Measure, Person
from studio.services.cutting import mass_of

MOST_LAYERS = 40


class WhichGlassForm(forms.Form):
    """Of what the shelf has or had."""

    kind = HeadedChoiceField(
        GlassKind.objects.none(),
        heading_of=lambda kind: kind.family.name,
        label="Which glass",
        empty_label="choose",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        on_shelf = GlassKind.objects.filter(archived_at=None, lots__remaining__gt=0)
        self.fields["kind"].queryset = (  # type: ignore[attr-defined]
            on_shelf.distinct().select_related("family")
        )


class _LotChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: GlassLot) -> str:
        left = formats.stock_amount(obj.remaining, obj.measure)
        where = f", {obj.place}" if obj.place else ""
        return f"{obj}{where}: {left} left"


class OffersCount(forms.BaseForm):
    """Mixin for a form that takes glass: once the shelf had too little (`is_short`), whoever may
    count can say that there is more."""

    is_short = False

    def offer_count(self, writer: Person) -> None:
        if access.may(writer, "stock.write"):
            self.fields["count_up"] = forms.BooleanField(
                required=False, label="There is more than the book says: count it in, then take it"
            )

    def add_error(self, field: str | None, error: Any) -> None:
        if getattr(error, "code", None) == "too_little" and "count_up" in self.fields:
            self.is_short = True
        super().add_error(field, error)


class GlassTakeForm(OffersCount, forms.Form):
    """How much of one kind: of sheet a size and layers, else an amount."""

    def __init__(
        self,
        *args: Any,
        kind: GlassKind,
        measure: str,
        loaded: LoadedPiece,
        writer: Person,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        footprint = loaded.footprint
        if measure == Measure.AREA:
            self.fields["size"] = SizeField(
                label="Size of a layer",
                initial=formats.plain(formats.size(footprint)) if footprint else None,
            )
            self.fields["layers"] = forms.IntegerField(
                min_value=1,
                max_value=MOST_LAYERS,
                initial=loaded.layers,
                help_text=f"1 to {MOST_LAYERS}. Each out of the smallest piece that holds it; "
                "what is left of it goes back by its size.",
            )
        else:
            self.fields["amount"] = AmountField(measure=measure)
            if measure == Measure.MASS and footprint and loaded.thickest_mm:
                mass = mass_of(footprint, loaded.thickest_mm, glass_of(kind).density)
                self.fields["amount"].initial = round(mass / formats.STOCK_UNITS["mass"][1])
                self.fields[
                    "amount"
                ].help_text = "Filled in: what its length, width and thickness weigh."
        self.fields["lot"] = _LotChoice(
            GlassLot.objects.filter(kind=kind, remaining__gt=0),
            required=False,
            empty_label="what fits best" if measure == Measure.AREA else "the first in first",
        )
        self.offer_count(writer)
