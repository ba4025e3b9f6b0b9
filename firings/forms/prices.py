"""Prices and the fee rule of a studio, with what a kiln has of its own."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from firings.models import KilnPrice, PriceList
from firings.models.prices import DEAREST, OF_A_KILN
from studio.models import Kiln

COSTS = ("per_kwh", "kiln_hour", "kiln_shelf", "wear_firing", "wear_hour")
FEES = ("fee_firing", "fee_shelf", "fee_kwh", "fee_hour", "fee_least")


def _label(name: str) -> str:
    field = KilnPrice._meta.get_field(name)
    return str(getattr(field, "verbose_name", name)).capitalize()


def _short(price: Decimal | None) -> str | None:
    """Without trailing zeros."""
    return None if price is None else f"{price.normalize():f}"


class PriceListForm(forms.ModelForm):
    class Meta:
        model = PriceList
        fields = ["valid_from", *COSTS, *FEES, "charges_glass"]
        widgets: ClassVar[dict[str, forms.Widget]] = {
            "valid_from": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            **{name: forms.TextInput(attrs={"inputmode": "decimal"}) for name in (*COSTS, *FEES)},
        }
        help_texts = {"valid_from": "For firings that start on this day or later."}

    def __init__(self, *args: Any, like: PriceList | None = None, **kwargs: Any) -> None:
        """`like`: the list whose prices a new one begins with."""
        super().__init__(*args, **kwargs)
        source = self.instance if self.instance.pk else like
        if like is not None and not self.instance.pk:
            for name in self.Meta.fields[1:]:
                self.initial[name] = getattr(like, name)
        for name in (*COSTS, *FEES):
            if name in self.initial:  # a first list begins with the model's 0
                self.initial[name] = _short(self.initial[name])
        own: dict[int, KilnPrice] = (
            {} if source is None else {each.kiln_id: each for each in source.kilns.all()}
        )
        self.kilns = list(Kiln.objects.filter(in_service=True))
        for kiln in self.kilns:
            for name in OF_A_KILN:
                self.fields[f"{name}_{kiln.pk}"] = forms.DecimalField(
                    label=_label(name),
                    required=False,
                    min_value=Decimal(0),
                    max_value=Decimal(DEAREST),
                    max_digits=10,
                    decimal_places=4,
                    initial=_short(getattr(own.get(kiln.pk), name, None)),
                    widget=forms.TextInput(attrs={"inputmode": "decimal"}),
                )

    def clean_valid_from(self) -> Any:
        day = self.cleaned_data["valid_from"]
        others = PriceList.objects.filter(valid_from=day).exclude(pk=self.instance.pk)
        if others.exists():
            raise ValidationError(
                "There are prices from that day already: change those, or choose another day.",
                code="unique",
            )
        return day

    @property
    def cost_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in COSTS]

    @property
    def fee_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in FEES]

    @property
    def kiln_fields(self) -> Iterator[tuple[Kiln, list[forms.BoundField], bool]]:
        """Each kiln, its fields, and whether any of them is filled in or wrong."""
        for kiln in self.kilns:
            fields = [self[f"{name}_{kiln.pk}"] for name in OF_A_KILN]
            yield kiln, fields, any(each.value() not in (None, "") for each in fields)

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.Meta.fields}

    def of_kilns(self) -> dict[Kiln, dict[str, Decimal | None]]:
        return {
            kiln: {name: self.cleaned_data[f"{name}_{kiln.pk}"] for name in OF_A_KILN}
            for kiln in self.kilns
        }
