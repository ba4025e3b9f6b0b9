"""What a ticket leads to, as a phone reads it, a hand scanner types it, or a person keys it."""

from typing import Any
from urllib.parse import urlsplit

from django import forms
from django.core.exceptions import ValidationError
from django.urls import Resolver404, ResolverMatch, resolve

from firings.forms.choices import pieces_to_fire_again
from firings.models import Label, Piece
from firings.queries.visible import visible_pieces
from studio.models import Person

LONGEST = 300
OTHER_LABELS = {"kiln_code": "a kiln", "lot_code": "a lot of glass"}


class ScanForm(forms.Form):
    """Cleans to the `Piece` of a ticket that this person may put into a load."""

    code = forms.CharField(
        label="Ticket",
        max_length=LONGEST,
        help_text="Scan it, or key the ten signs at the end of its address.",
        error_messages={"required": "Scan a ticket, or key its ten signs."},
        widget=forms.TextInput(
            attrs={
                "autofocus": True,
                "autocomplete": "off",
                "autocapitalize": "none",
                "spellcheck": "false",
            }
        ),
    )

    def __init__(self, *args: Any, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.writer = writer

    def clean_code(self) -> Piece:
        sent = self.cleaned_data["code"]
        match = _address_in(sent)
        if match is not None and match.url_name in OTHER_LABELS:
            raise ValidationError(
                f"That is the label of {OTHER_LABELS[match.url_name]}, not a piece’s ticket.",
                code="other_label",
            )
        code = match.kwargs["code"] if match is not None else "".join(sent.split()).lower()
        label = Label.objects.filter(code=code).exclude(piece=None).first()
        if label is None or label.piece_id is None:
            raise ValidationError(
                f"“{sent}” is on no ticket of this studio. A code has ten signs, as 7kd3m9xw2p.",
                code="unknown",
            )
        return self._to_put_in(label.piece_id)

    def _to_put_in(self, piece: int) -> Piece:
        """Their own; anybody's, for those who may write for others."""
        found = pieces_to_fire_again(self.writer).filter(pk=piece).first()
        if found is None:
            seen = visible_pieces(self.writer).select_related("maker").filter(pk=piece).first()
            what = "That piece" if seen is None else f"“{seen}” by {seen.maker.name}"
            raise ValidationError(
                f"{what} isn’t yours to put in: its maker, an instructor or the keeper does that.",
                code="not_yours",
            )
        return found


def _address_in(sent: str) -> ResolverMatch | None:
    """What a scanned address leads to; a scanner may write it in capitals."""
    path = urlsplit(sent.strip().lower()).path
    for each in (path, f"{path}/"):
        try:
            match = resolve(each)
        except Resolver404:
            continue
        return match if "code" in match.kwargs else None
    return None
