"""For which lots labels are printed, and how many of each."""

from collections.abc import Sequence
from typing import Any

from django import forms

from studio.models import GlassLot

EACH = [
    ("lot", "one a lot"),
    ("size", "one a size"),
    ("piece", "one a piece"),
]


class LotLabelsForm(forms.Form):
    """Read from an address: lots offered, those of them that are chosen, labels for each."""

    lot = forms.MultipleChoiceField(
        label="Lots", required=False, widget=forms.CheckboxSelectMultiple
    )
    each = forms.ChoiceField(choices=EACH, label="Labels", widget=forms.RadioSelect)

    def __init__(self, *args: Any, offered: Sequence[GlassLot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offered = offered
        self.fields["lot"].choices = [(str(lot.pk), _named(lot)) for lot in offered]  # type: ignore[attr-defined]

    @property
    def chosen(self) -> list[GlassLot]:
        named = set(self.cleaned_data["lot"])
        return [lot for lot in self.offered if str(lot.pk) in named]


def _named(lot: GlassLot) -> str:
    where = f", {lot.place}" if lot.place else ""
    return f"{lot.kind}, {lot}{where}"
