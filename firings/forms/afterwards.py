"""One short form for a firing that is over: what was fired, what was read, how it came out."""

from collections.abc import Iterable
from typing import Any

from django import forms

from firings.forms.choices import PersonField, glass_field, glass_to_choose, revision_field
from firings.forms.judging import VerdictField
from firings.forms.load import THICKNESS_TAKEN
from firings.forms.times import DateAndTimeField, require_past
from firings.models import Firing, LoadedPiece
from firings.queries.plan import revisions_to_fire
from studio.forms.fields import DurationField, MillimetreField, TemperatureField, UnitForm
from studio.forms.pictures import HoldsPictures, PicturesField
from studio.models import Kiln, Person, ShelfPlace

PIECE_FIELDS = ["glass", "layers", "thickest_mm", "place", "wanted"]


class KilnForm(forms.Form):
    """Which kiln it was, chosen first: the rest of the page is filled in from its last firing."""

    kiln = forms.ModelChoiceField(Kiln.objects.all(), empty_label=None)


class AfterwardsForm(HoldsPictures, UnitForm, forms.ModelForm):
    revision = revision_field(empty_label="choose a schedule")
    started_at = DateAndTimeField(label="Started")
    opened_at = DateAndTimeField(label="Opened")
    recorded_peak_c = TemperatureField(
        label="Recorded peak", required=False, help_text="The highest that the display reached."
    )
    recorded_duration_s = DurationField(
        label="Duration",
        required=False,
        help_text="From the start to the end of the last segment, as 9:40.",
    )
    recorded_hold_s = DurationField(
        label="Hold at the top", required=False, help_text="As 10 or 1:30."
    )
    title = forms.CharField(max_length=120, help_text="What you call the piece, as “Tide bowl”.")
    glass = glass_field()
    verdict = VerdictField()
    photographs = PicturesField(required=False)
    is_private = Firing._meta.get_field("is_private").formfield()

    class Meta:
        model = LoadedPiece
        fields = [*PIECE_FIELDS, "verdict"]
        field_classes = {"thickest_mm": MillimetreField}
        help_texts = {"layers": "1 to 40.", "thickest_mm": THICKNESS_TAKEN}

    def __init__(
        self, *args: Any, kiln: Kiln, writer: Person, also: Iterable[int] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["revision"].queryset = revisions_to_fire(also)  # type: ignore[attr-defined]
        self.fields["glass"].queryset = glass_to_choose()  # type: ignore[attr-defined]
        self.fields["fired_by"] = PersonField(writer, label="Who")
        self.fields["place"] = forms.ModelChoiceField(
            ShelfPlace.objects.filter(kiln=kiln), required=False, empty_label="not said"
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        started, opened = cleaned.get("started_at"), cleaned.get("opened_at")
        require_past(self, "started_at", "opened_at")
        if started and opened and opened <= started:
            self.add_error("opened_at", "A kiln can’t be opened before its firing started.")
        return cleaned

    def facts_of_firing(self) -> dict[str, Any]:
        names = ["revision", "fired_by", "started_at", "opened_at", "is_private"]
        recorded = ["recorded_peak_c", "recorded_duration_s", "recorded_hold_s"]
        return {name: self.cleaned_data[name] for name in [*names, *recorded]}

    def facts_of_piece(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in PIECE_FIELDS}
