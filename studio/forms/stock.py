"""What is keyed at the glass shelf: sizes in mm, amounts in the unit that a lot is read in."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from studio import formats
from studio.models import MEASURES_OF_FORM, GlassKind, GlassLot, Measure, StockMovement
from studio.services.stock import (
    LONGEST_MM,
    MOST_PIECES,
    MOST_UNITS,
    Rectangle,
    offcuts_of,
    worth_keeping,
)

_SIZE = re.compile(r"^\s*(\d{1,6})\s*(?:mm)?\s*[x×X*]\s*(\d{1,6})\s*(?:mm)?\s*$")


class SizeField(forms.CharField):
    """Two sides in mm, like 180 × 120; cleans to a Rectangle, empty to None."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", f"Two sides in mm, like 180 × 120; each 1 to {LONGEST_MM}.")
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        found = _SIZE.match(text)
        sides = [int(side) for side in found.groups()] if found else []
        if not found or min(sides) < 1 or max(sides) > LONGEST_MM:
            raise ValidationError(
                f"Write two sides in mm, like 180 × 120; each 1 to {LONGEST_MM}.", code="size"
            )
        return Rectangle(*sides)


class AmountField(forms.DecimalField):
    """An amount in the measure's unit; cleans to whole steps (mm², mg, mm or pieces)."""

    def __init__(self, *, measure: str, least: Decimal | None = None, **kwargs: Any) -> None:
        unit, self.steps, decimals = formats.STOCK_UNITS.get(measure, ("pieces", 1, 0))
        smallest = Decimal(1).scaleb(-decimals)
        kwargs.setdefault("label", f"How much, {unit}")
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(
            min_value=smallest if least is None else least,
            max_value=MOST_UNITS,
            decimal_places=decimals,
            **kwargs,
        )

    def clean(self, value: Any) -> Any:
        amount = super().clean(value)
        return None if amount is None else int(amount * self.steps)


def _reason(help_text: str = "") -> forms.CharField:
    return forms.CharField(required=False, max_length=200, label="What for", help_text=help_text)


class ReceiveForm(forms.ModelForm):
    """A lot that came. Of sheet: how many of one size; else an amount."""

    class Meta:
        model = GlassLot
        fields = ["received_on", "supplier", "batch", "place", "price"]
        widgets = {"received_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}

    def __init__(self, *args: Any, kind: GlassKind, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        standing = kind.lots.values_list("measure", flat=True).first()
        measures = [standing] if standing else list(MEASURES_OF_FORM[kind.form])
        self.fields["price"].label = f"Price of all of it, {currency}"
        front: dict[str, forms.Field] = {}
        if measures == [Measure.AREA]:
            front["size"] = SizeField(label="Size of a piece")
            front["amount"] = forms.IntegerField(
                label="How many of that size", min_value=1, max_value=MOST_PIECES, initial=1
            )
        elif len(measures) == 1:
            front["amount"] = AmountField(measure=measures[0])
        else:
            said = [(each, formats.STOCK_UNITS.get(each, ("pieces", 1, 0))[0]) for each in measures]
            front["measure"] = forms.ChoiceField(
                choices=said,
                label="Counted in",
                help_text="It stays so for all lots of this glass.",
            )
            front["amount"] = forms.DecimalField(
                label="How much", min_value=Decimal("0.001"), max_value=MOST_UNITS
            )
        self.fields = front | self.fields
        self.several = len(measures) > 1

    def clean_received_on(self) -> Any:
        received_on = self.cleaned_data["received_on"]
        if received_on > timezone.localdate():
            raise ValidationError("That day is still to come.", code="future")
        return received_on

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if self.several and "amount" in cleaned and "measure" in cleaned:
            field = AmountField(measure=cleaned["measure"])
            try:
                cleaned["amount"] = field.clean(str(cleaned["amount"]))
            except ValidationError as error:
                self.add_error("amount", error)
        return cleaned


class OfLotForm(forms.Form):
    """Something done to a lot: of sheet, a size and how many of it; else an amount."""

    least: int | None = None

    def __init__(self, *args: Any, lot: GlassLot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        front: dict[str, forms.Field] = {}
        if lot.is_sheet:
            front["size"] = self.size_field(lot)
            front["amount"] = forms.IntegerField(
                label="How many of that size",
                min_value=1 if self.least is None else self.least,
                max_value=MOST_PIECES,
                initial=1,
            )
        else:
            least = None if self.least is None else Decimal(self.least)
            front["amount"] = AmountField(measure=lot.measure, least=least)
        self.fields = front | self.fields | {"reason": _reason()}

    def size_field(self, lot: GlassLot) -> forms.Field:
        return SizeThereField(lot)


class SizeThereField(forms.TypedChoiceField):
    """One of the sizes that are there of a lot; cleans to a Rectangle."""

    def __init__(self, lot: GlassLot) -> None:
        there = [
            (f"{each.length_mm}x{each.width_mm}", f"{formats.size(each.rectangle)} ({each.pieces})")
            for each in lot.sizes.all()
        ]
        super().__init__(
            choices=there, coerce=SizeField().clean, label="Which piece", empty_value=None
        )


class TakeForm(OfLotForm):
    what = forms.ChoiceField(
        choices=[
            (each.value, each.label)
            for each in (StockMovement.What.BROKEN, StockMovement.What.SOLD)
        ],
        label="Why it goes",
    )


class UseForm(OfLotForm):
    """An amount for a piece, from a lot that is not sheet."""


class ReturnForm(OfLotForm):
    def size_field(self, lot: GlassLot) -> forms.Field:
        return SizeField(label="Size of a piece")


class CountForm(ReturnForm):
    least = 0

    def __init__(self, *args: Any, lot: GlassLot, **kwargs: Any) -> None:
        super().__init__(*args, lot=lot, **kwargs)
        if lot.is_sheet:
            self.fields["amount"].label = "How many of that size are there"


class CutFromForm(forms.Form):
    """From which piece of sheet, and what; it tells what would come back."""

    wanted = SizeField(
        required=False, label="Cut from it", help_text="Two sides in mm. Empty: all of it is used."
    )

    def __init__(self, *args: Any, lot: GlassLot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields = {"sheet": SizeThereField(lot)} | self.fields

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        sheet, wanted = cleaned.get("sheet"), cleaned.get("wanted")
        if sheet and wanted and not sheet.holds(wanted):
            self.add_error(
                "wanted", f"That doesn’t come out of one piece of {formats.size(sheet)}."
            )
        return cleaned

    @property
    def proposal(self) -> dict[str, str]:
        """What the form of the cut begins with."""
        sheet, wanted = self.cleaned_data["sheet"], self.cleaned_data["wanted"]
        begun = {"sheet": f"{sheet.length}x{sheet.width}"}
        if wanted:
            sizes = [wanted, *worth_keeping(offcuts_of(sheet, wanted))]
            written = (f"{size.length} × {size.width}" for size in sizes)
            begun |= dict(zip(("wanted", "back", "also_back"), written, strict=False))
        return begun


class CutForm(forms.Form):
    """One piece of sheet is cut, and what is left of it comes back by its size."""

    wanted = SizeField(required=False, label="Cut from it")
    back = SizeField(required=False, label="Offcut that comes back")
    also_back = SizeField(required=False, label="Another offcut")
    reason = _reason("The piece it is for.")

    def __init__(self, *args: Any, lot: GlassLot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields = {"sheet": SizeThereField(lot)} | self.fields

    @property
    def offcuts(self) -> list[Rectangle]:
        return [
            self.cleaned_data[name] for name in ("back", "also_back") if self.cleaned_data[name]
        ]


class TakeFirstForm(forms.Form):
    def __init__(self, *args: Any, measure: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = AmountField(measure=measure)
        self.fields["reason"] = _reason("The piece it is for.")


class LevelForm(forms.Form):
    def __init__(self, *args: Any, measure: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit = formats.STOCK_UNITS.get(measure, ("pieces",))[0]
        self.fields["low_below"] = AmountField(
            measure=measure,
            required=False,
            label=f"Runs low below, {unit}",
            help_text="It then stands on the shopping list. Empty: never.",
        )
