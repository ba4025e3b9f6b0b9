"""Forms of a piece that waits for a kiln, and of a load made of such pieces."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from firings.forms.booking import KilnField
from firings.forms.choices import (
    glass_field,
    glass_to_choose,
    pieces_to_fire_again,
    revision_field,
)
from firings.forms.load import (
    SIZE_TAKEN,
    SIZES,
    THICKNESS_TAKEN,
    say_other_family,
)
from firings.forms.record import say_what_blocks
from firings.forms.times import DateAndTimeField
from firings.forms.which_piece import ask_which_piece, piece_asked
from firings.models import WaitingPiece
from firings.queries.pieces import other_family_of
from firings.queries.plan import revisions_to_fire
from schedules.models import Process
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import MillimetreField
from studio.models import Kiln, Person

FACTS = ["process", "glass", "layers", *SIZES, "wanted", "wanted_by"]


class WaitingForm(SavesOwnChanges, forms.ModelForm):
    title = forms.CharField(max_length=120, required=False, help_text="As “Tide bowl”.")
    glass = glass_field()
    wanted_by = forms.DateField(
        required=False,
        label="Wanted by",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )

    class Meta:
        model = WaitingPiece
        fields = FACTS
        field_classes = dict.fromkeys(SIZES, MillimetreField)
        help_texts = {
            "layers": "1 to 40.",
            "thickest_mm": THICKNESS_TAKEN,
            "thinnest_mm": THICKNESS_TAKEN,
            "length_mm": f"{SIZE_TAKEN} Without its size nobody knows how much room it takes.",
            "width_mm": SIZE_TAKEN,
        }

    def __init__(self, *args: Any, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        glass = self.fields["glass"]
        glass.required = True
        current = self.instance.glass if self.instance.pk else None
        glass.queryset = glass_to_choose(current)  # type: ignore[attr-defined]
        glass.empty_label = "choose"  # type: ignore[attr-defined]
        self.fields["process"].choices = [("", "choose"), *Process.choices]  # type: ignore[attr-defined]
        if self.instance.pk:
            del self.fields["title"]
            return
        waiting = WaitingPiece.objects.filter(loaded=None, withdrawn_at=None).values("piece")
        ask_which_piece(self, writer, pieces_to_fire_again(writer).exclude(pk__in=waiting))
        self.order_fields(["piece", "title", "maker"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        piece = piece_asked(self, cleaned)
        known = piece or (self.instance.piece if self.instance.pk else None)
        glass = cleaned.get("glass")
        if known is not None and glass is not None:
            say_other_family(self, other_family_of(known, glass))
        return cleaned

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.fields}


class TogetherForm(forms.Form):
    """Which of the pieces, in which kiln, by which schedule."""

    pieces = forms.ModelMultipleChoiceField(
        WaitingPiece.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick at least one piece.",
            "invalid_choice": "One of the pieces waits no longer. Look at the list again.",
        },
    )
    kiln = KilnField(Kiln.objects.none(), empty_label="choose a kiln")
    revision = revision_field(empty_label="choose a schedule")
    planned_start = DateAndTimeField(label="Planned start", required=False)

    def __init__(
        self, *args: Any, waiting: list[WaitingPiece], writer: Person, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.writer = writer
        numbers = [each.pk for each in waiting]
        still = WaitingPiece.objects.filter(pk__in=numbers, loaded=None, withdrawn_at=None)
        pieces = self.fields["pieces"]
        pieces.queryset = still.select_related("piece__maker", "glass")  # type: ignore[attr-defined]
        pieces.label_from_instance = _named  # type: ignore[attr-defined]
        pieces.initial = numbers
        self.fields["kiln"].queryset = Kiln.objects.filter(in_service=True)  # type: ignore[attr-defined]
        first = waiting[0] if waiting else None
        revisions = revisions_to_fire()
        if first is not None:
            revisions = revisions.filter(
                schedule__process=first.process, schedule__family=first.glass.family_id
            )
        self.fields["revision"].queryset = revisions  # type: ignore[attr-defined]

    def clean_pieces(self) -> QuerySet[WaitingPiece]:
        pieces: QuerySet[WaitingPiece] = self.cleaned_data["pieces"]
        if len({(each.process, each.glass.family_id) for each in pieces}) > 1:
            raise forms.ValidationError("One load has one process, and glass of one family.")
        return pieces

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        revision, kiln = cleaned.get("revision"), cleaned.get("kiln")
        if revision is not None and kiln is not None:
            say_what_blocks(self, revision, kiln, self.writer.unit)
        return cleaned


class PutInForm(forms.Form):
    """Which waiting pieces go into a load: one's own, or everybody's for who may write for others.

    What waits no longer is taken as well, so that it can be told by its name.
    """

    waiting = forms.ModelMultipleChoiceField(
        WaitingPiece.objects.none(), error_messages={"required": "Tick at least one piece."}
    )

    def __init__(self, *args: Any, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pieces = pieces_to_fire_again(writer)
        self.fields["waiting"].queryset = WaitingPiece.objects.filter(piece__in=pieces)  # type: ignore[attr-defined]

    def numbers(self) -> list[int]:
        """In the order in which they stood on the page."""
        sent = self["waiting"].data
        return sorted(
            (each.pk for each in self.cleaned_data["waiting"]), key=lambda pk: sent.index(str(pk))
        )


def _named(waiting: WaitingPiece) -> str:
    return f"{waiting.piece.title}, {waiting.piece.maker.name}"
