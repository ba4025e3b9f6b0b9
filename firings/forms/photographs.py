"""Photographs of a firing: of which moment, and of which piece."""

from typing import Any

from django import forms

from firings.forms.noted import kept_since
from firings.models import Firing, LoadedPiece, Photograph
from firings.queries.visible import visible_load
from studio.forms.pictures import HoldsPictures, PicturesField
from studio.models import Person


class LoadedPieceChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: LoadedPiece) -> str:
        return obj.piece.title


class PhotographForm(HoldsPictures, forms.ModelForm):
    photographs = PicturesField()

    class Meta:
        model = Photograph
        fields = ["photographs", "moment", "loaded_piece", "caption"]
        labels = {"loaded_piece": "Of which piece"}
        widgets = {"moment": forms.RadioSelect}

    def __init__(self, *args: Any, firing: Firing, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["loaded_piece"] = LoadedPieceChoice(
            visible_load(writer).filter(firing=firing).select_related("piece"),
            label="Of which piece",
            required=False,
            empty_label="the whole shelf",
        )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        return {**cleaned, "added_at": kept_since(self.data)}
