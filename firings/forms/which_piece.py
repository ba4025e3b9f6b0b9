"""Which piece a form is about: a new one, or one that was fired before."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from firings.forms.choices import PersonField
from firings.models import Piece
from studio.models import Person

NO_PIECE = "Give the piece a name, or choose one that was fired before."


class PieceChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Piece) -> str:
        return f"{obj.title}, {obj.maker.name}"


def ask_which_piece(form: forms.BaseForm, writer: Person, pieces: QuerySet[Piece]) -> None:
    """Adds `maker` and `piece` to a form that has a `title`, which is for a new piece then."""
    form.fields["title"].label = "Title, if it is new"
    form.fields["maker"] = PersonField(writer)
    form.fields["piece"] = PieceChoice(
        pieces,
        label="Fired before",
        required=False,
        empty_label="no, this is new",
        help_text="A piece that is fired again keeps its history.",
    )


def piece_asked(form: forms.BaseForm, cleaned: dict[str, Any]) -> Piece | None:
    """The piece that was chosen, with its maker put into `cleaned`; None for a new one, which
    without a title is told at its field."""
    piece: Piece | None = cleaned.get("piece")
    if piece is not None:
        cleaned["maker"] = piece.maker
    elif "piece" in form.fields and not cleaned.get("title"):
        form.add_error("title", NO_PIECE)
    return piece
