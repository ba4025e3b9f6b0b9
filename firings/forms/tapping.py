"""A place that is tapped on a picture: a map of the shelf, or a photograph of it.

The picture lies under an `<input type="image">`, which sends where it was tapped without any
script, in pixels of the size at which the style sheet shows it then. The script shows the picture
larger, and writes the tap into the two number fields, which also serve a keyboard.
"""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import QuerySet

from firings.models import Firing, LoadedPiece, PieceSpot
from firings.queries.loading import place_tapped, shelf_to_tap
from studio.forms.fields import MillimetreField
from studio.models import ShelfPlace

SHOWN_WIDTH = 288
"""px, as `.tapped` in the style sheet has it."""
NO_TAP = "Tap where it lies, or write how far from the left and from the top, 0 to 100 %."
SIZES = [
    ("", "as before, or by its size"),
    ("0.05", "a tenth of the picture’s width"),
    ("0.1", "a fifth"),
    ("0.2", "two fifths"),
    ("0.35", "most of it"),
]


class PercentField(MillimetreField):
    def __init__(self, **kwargs: Any) -> None:
        limits = [
            MinValueValidator(0, "0 %% is the least."),
            MaxValueValidator(100, "100 %% is the most."),
        ]
        super().__init__(required=False, validators=limits, **kwargs)
        self.error_messages["invalid"] = "Enter a number of per cent, such as 40."


class PieceChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: LoadedPiece) -> str:
        return f"{obj.piece.title}, {obj.piece.maker.name}"


class TapForm(forms.Form):
    """Which piece, and where on a picture whose height is `ratio` times its width."""

    loaded_piece = PieceChoice(
        LoadedPiece.objects.none(),
        label="Which piece",
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages={"required": "Which piece lies there? Your tap is kept: say which."},
    )
    left_percent = PercentField(label="From the left, %")
    top_percent = PercentField(label="From the top, %")

    def __init__(
        self, data: Any = None, *, pieces: QuerySet[LoadedPiece], ratio: float, **kwargs: Any
    ) -> None:
        super().__init__(_with_tap(data, ratio), **kwargs)
        field = self.fields["loaded_piece"]
        field.queryset = pieces  # type: ignore[attr-defined]

    @property
    def tapped(self) -> tuple[float, float] | None:
        """As fractions of the picture's width and height."""
        left, top = (self.cleaned_data.get(name) for name in ("left_percent", "top_percent"))
        return None if left is None or top is None else (left / 100, top / 100)

    def ask_for_tap(self) -> None:
        if self.tapped is None and not self.errors.keys() & {"left_percent", "top_percent"}:
            self.add_error("left_percent", NO_TAP)


def _with_tap(data: Any, ratio: float) -> Any:
    """A tap in pixels, written as numbers; from a keyboard it comes as 0, 0 and says nothing."""
    if data is None or data.get("left_percent") or data.get("top_percent"):
        return data
    pixels = [data.get(name, "") for name in ("tap.x", "tap.y")]
    if not all(each.isdecimal() and len(each) < 6 for each in pixels) or pixels == ["0", "0"]:
        return data
    data = data.copy()
    left, top = int(pixels[0]) / SHOWN_WIDTH, int(pixels[1]) / SHOWN_WIDTH / ratio
    data["left_percent"] = f"{min(left, 1) * 100:.1f}"
    data["top_percent"] = f"{min(top, 1) * 100:.1f}"
    return data


class SpotForm(TapForm):
    """A piece on a photograph of the shelf."""

    half_width = forms.TypedChoiceField(
        label="How much of the picture it takes",
        choices=SIZES,
        coerce=float,
        empty_value=None,
        required=False,
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self.ask_for_tap()
        return cleaned

    def facts(self) -> dict[str, Any]:
        tapped = self.tapped
        assert tapped is not None  # noqa: S101  else the form is not valid
        return {"x": tapped[0], "y": tapped[1], "half_width": self.cleaned_data["half_width"]}

    def keep_unmarked_first(self, spots: list[PieceSpot]) -> None:
        """So that one tap after the other marks one piece after the other."""
        marked = {spot.loaded_piece_id for spot in spots}
        pieces = self.fields["loaded_piece"].queryset  # type: ignore[attr-defined]
        self.initial["loaded_piece"] = next((p.pk for p in pieces if p.pk not in marked), None)


class PlaceForm(TapForm):
    """A piece at a place of its kiln's shelf: the nearest to a tap on its `shelf`, or one by name.

    `shelf` is None for a kiln without places on record.
    """

    place = forms.ModelChoiceField(
        ShelfPlace.objects.none(), required=False, empty_label="the nearest to my tap"
    )

    def __init__(self, data: Any = None, *, firing: Firing, pieces: QuerySet[LoadedPiece]) -> None:
        self.firing = firing
        self.shelf = shelf_to_tap(firing, pieces)
        ratio = 1.0 if self.shelf is None else self.shelf.ratio
        super().__init__(data, pieces=pieces, ratio=ratio)
        self.fields["place"].queryset = ShelfPlace.objects.filter(kiln=firing.kiln_id)  # type: ignore[attr-defined]
        self.initial["loaded_piece"] = next((p.pk for p in pieces if p.place_id is None), None)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("place") is None and "place" not in self.errors:
            self.ask_for_tap()
            if self.tapped is not None:
                cleaned["place"] = place_tapped(self.firing.kiln, *self.tapped)
                if cleaned["place"] is None:
                    self.add_error("place", "This kiln’s shelf has no places on record yet.")
        return cleaned
