"""The form of a piece in a load."""

from typing import Any

from django import forms
from django.db.models import Q

from firings.forms.choices import (
    glass_field,
    glass_to_choose,
    other_glasses_field,
    pieces_to_fire_again,
)
from firings.forms.glass_use import OffersCount
from firings.forms.which_piece import ask_which_piece, piece_asked
from firings.models import Firing, FiringState, LoadedPiece, Piece
from firings.queries.pieces import other_family_of, was_fired
from studio import access
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import MillimetreField
from studio.models import GlassFamily, KilnFurniture, Mould, Person, ShelfPlace

SIZES = ["thickest_mm", "thinnest_mm", "length_mm", "width_mm"]
FACTS = ["glass", "layers", *SIZES, "lies_on", "mould", "place", "wanted"]
THICKNESS_TAKEN, SIZE_TAKEN = "0.5 to 100.", "0.1 to 3000."


def say_other_family(form: forms.BaseForm, fired_as: GlassFamily | None) -> None:
    if fired_as is not None:
        form.add_error(
            "glass",
            f"This piece was fired as {fired_as}; "
            "one piece never mixes families that don’t fit each other.",
        )


class LoadedPieceForm(OffersCount, SavesOwnChanges, forms.ModelForm):
    """A piece to load, or one that lies in the load already."""

    title = forms.CharField(
        max_length=120, required=False, help_text="What you call it, as “Tide bowl”."
    )
    glass = glass_field()
    other_glasses = other_glasses_field()
    off_shelf = forms.BooleanField(
        required=False,
        label="Take its glass off the shelf",
        help_text="By length, width and layers, where it is new: what was fired before took its "
        "glass then. Calling the firing off gives it back.",
    )

    class Meta:
        model = LoadedPiece
        fields = [*FACTS, "other_glasses", "is_fit_test", "is_served"]
        field_classes = dict.fromkeys(SIZES, MillimetreField)
        help_texts = {
            "layers": "1 to 40.",
            "thickest_mm": THICKNESS_TAKEN,
            "thinnest_mm": THICKNESS_TAKEN,
            "length_mm": SIZE_TAKEN,
            "width_mm": SIZE_TAKEN,
        }

    def __init__(self, *args: Any, firing: Firing, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing, self.writer = firing, writer
        self.fields["glass"].queryset = glass_to_choose(self.instance.glass)  # type: ignore[attr-defined]
        self.fields["other_glasses"].queryset = glass_to_choose(  # type: ignore[attr-defined]
            *self.instance.other_glasses.all() if self.instance.pk else ()
        )
        self.fields["mould"].choices = [("", "not said"), *Mould.choices]  # type: ignore[attr-defined]
        self.fields["lies_on"] = forms.ModelChoiceField(
            KilnFurniture.objects.filter(
                Q(kiln=None) | Q(kiln=firing.kiln_id),
                Q(archived_at=None) | Q(pk=self.instance.lies_on_id),
            ),
            required=False,
            label="Which mould or shelf",
            empty_label="not on record",
        )
        self.fields["place"] = forms.ModelChoiceField(
            ShelfPlace.objects.filter(kiln=firing.kiln_id), required=False, empty_label="not said"
        )
        self.offer_count(writer)
        if not access.may(writer, "piece.test_fit") and not self.instance.is_fit_test:
            del self.fields["is_fit_test"]
        self.fields["off_shelf"].initial = self._is_off_shelf()
        if self.instance.pk:
            self.fields["title"].initial = self.instance.piece.title
            self.fields["title"].required = True
            return
        pieces = pieces_to_fire_again(writer).exclude(firings__firing=firing)
        ask_which_piece(self, writer, pieces)

    def _is_off_shelf(self) -> bool:
        """As it stands; of a new piece, whether it is still to be fired and was not before."""
        if self.instance.pk:
            return self.instance.glass_uses.filter(by_layers=True, given_back_at=None).exists()
        return self.firing.state == FiringState.PLANNED and not was_fired(self.initial.get("piece"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        piece = piece_asked(self, cleaned)
        if was_fired(piece):
            cleaned["off_shelf"] = False
        if cleaned.get("lies_on") is not None:
            cleaned["mould"] = cleaned["lies_on"].material
        thickest, thinnest = cleaned.get("thickest_mm"), cleaned.get("thinnest_mm")
        if thickest is not None and thinnest is not None and thinnest > thickest:
            self.add_error("thinnest_mm", "The thinnest point can’t be thicker than the thickest.")
        if not cleaned.get("is_fit_test"):
            self._plan_one_family_a_piece()
            self._keep_to_one_family(piece or (self.instance.piece if self.instance.pk else None))
        return cleaned

    def _plan_one_family_a_piece(self) -> None:
        """What is still to be fired can be laid up anew; what was fired is written as it was."""
        glass = self.cleaned_data.get("glass")
        others = list(self.cleaned_data.get("other_glasses") or [])
        families = dict.fromkeys(kind.family for kind in [*([glass] if glass else []), *others])
        if len(families) > 1 and self.firing.state == FiringState.PLANNED:
            first, *rest = (str(family) for family in families)
            self.add_error(
                "other_glasses",
                f"{', '.join(rest)} with {first}: "
                "one piece never mixes families that don’t fit each other. To test whether they "
                "fit, a keeper or an instructor says so at the piece.",
            )

    def _keep_to_one_family(self, piece: Piece | None) -> None:
        glass = self.cleaned_data.get("glass")
        if piece is not None and glass is not None:
            say_other_family(self, other_family_of(piece, glass, but=self.instance.pk))

    def facts(self) -> dict[str, Any]:
        """What an action takes of the piece."""
        shelf = {name: self.cleaned_data.get(name, False) for name in ("off_shelf", "count_up")}
        facts = {name: self.cleaned_data[name] for name in self.Meta.fields if name in self.fields}
        return facts | shelf
