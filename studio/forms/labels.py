"""For which lots labels are printed, and how many of each."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from studio.models import GlassLot

EACH = [
    ("lot", "one a lot"),
    ("size", "one a size"),
    ("piece", "one a piece"),
]


class LotChoices(forms.ModelMultipleChoiceField):
    def label_from_instance(self, lot: GlassLot) -> str:
        where = f", {lot.place}" if lot.place else ""
        return f"{lot.kind}, {lot}{where}"


class LotLabelsForm(forms.Form):
    """Read from an address: lots offered, those of them that are chosen, labels for each."""

    lot = LotChoices(
        GlassLot.objects.none(), label="Lots", required=False, widget=forms.CheckboxSelectMultiple
    )
    each = forms.ChoiceField(choices=EACH, label="Labels", widget=forms.RadioSelect)

    def __init__(self, *args: Any, offered: QuerySet[GlassLot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].queryset = offered  # type: ignore[attr-defined]
