"""Where a finished piece lies, and how it leaves."""

from typing import Any

from django import forms

from firings.models import Piece, StayEnd, StoredPiece
from studio import access
from studio.models import Person

GIVES_AWAY = (StayEnd.HANDED_OVER, StayEnd.DISCARDED)


class StoreForm(forms.ModelForm):
    class Meta:
        model = StoredPiece
        fields = ["place", "keep_until"]
        widgets = {
            "place": forms.TextInput(attrs={"list": "places"}),
            "keep_until": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }
        help_texts = {"keep_until": "After that day it may be discarded. Empty: no end."}

    def places(self) -> list[str]:
        """Those in use, to be chosen again."""
        used = StoredPiece.objects.filter(ended_at=None).order_by("place")
        return list(dict.fromkeys(used.values_list("place", flat=True)))


class StayEndForm(forms.Form):
    """To hand it over or discard it is for its maker and for keepers."""

    how = forms.ChoiceField(label="How it went", widget=forms.RadioSelect)
    to_whom = forms.CharField(
        max_length=80, required=False, label="By whom, or to whom", help_text="When it matters."
    )

    def __init__(self, *args: Any, piece: Piece, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        gives_away = access.may(writer, "piece.give_away", piece)
        self.fields["how"].choices = [  # type: ignore[attr-defined]
            (each.value, each.label)
            for each in StayEnd
            if each != StayEnd.FIRED_AGAIN and (gives_away or each not in GIVES_AWAY)
        ]
