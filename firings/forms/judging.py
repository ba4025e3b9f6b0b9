"""The forms by which a piece is judged."""

from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.load import SIZE_TAKEN, THICKNESS_TAKEN
from firings.models import Fault, FaultKind, LoadedPiece, VerdictValue
from studio.forms.fields import MillimetreField
from studio.forms.pictures import HoldsPictures, PicturesField

SIZES_AFTER = ["length_after_mm", "width_after_mm", "thickness_after_mm"]


class ScaleInput(forms.RadioSelect):
    """The verdicts side by side, from well short to well past, large enough for a thumb."""

    template_name = "firings/parts/scale.html"


class VerdictField(forms.TypedChoiceField):
    """Cleans to −2 … +2, or to None for "not judged yet", which is never "as wanted"."""

    widget = ScaleInput

    def __init__(self) -> None:
        super().__init__(
            label="How far did it go, against what was wanted?",
            required=False,
            choices=[*VerdictValue.choices, ("", "not judged yet")],
            coerce=int,
            empty_value=None,
        )

    def prepare_value(self, value: Any) -> Any:
        return "" if value is None else value


class ShortVerdictForm(forms.ModelForm):
    """The verdict and a line of remarks: what one has time for beside the open kiln."""

    verdict = VerdictField()

    class Meta:
        model = LoadedPiece
        fields = ["verdict", "remarks"]
        widgets = {"remarks": forms.Textarea(attrs={"rows": 2})}

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


class VerdictForm(HoldsPictures, ShortVerdictForm):
    photographs = PicturesField(label="Photographs of it", required=False)

    class Meta(ShortVerdictForm.Meta):
        fields = ["verdict", *SIZES_AFTER, "remarks"]
        field_classes = dict.fromkeys(SIZES_AFTER, MillimetreField)
        help_texts = {
            "length_after_mm": SIZE_TAKEN,
            "width_after_mm": SIZE_TAKEN,
            "thickness_after_mm": THICKNESS_TAKEN,
        }


class FaultForm(forms.ModelForm):
    """A fault; beside a verdict it may be left empty."""

    seen_on = forms.DateField(
        label="Seen on",
        initial=timezone.localdate,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )

    class Meta:
        model = Fault
        fields = ["kind", "severity", "seen_on", "note"]
        widgets = {"severity": forms.RadioSelect}

    def __init__(
        self, *args: Any, loaded: LoadedPiece, optional: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.started_at = loaded.firing.started_at
        self.fields["severity"].choices = Fault._meta.get_field("severity").choices  # type: ignore[attr-defined]
        kinds = [("", "none" if optional else "choose"), *FaultKind.choices]
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]
        if optional:
            self.fields["kind"].label = "A fault"
            self.fields["kind"].required = False

    def clean_seen_on(self) -> Any:
        seen_on = self.cleaned_data["seen_on"]
        if seen_on > timezone.localdate():
            raise forms.ValidationError("This day is still to come.")
        if self.started_at and seen_on < timezone.localdate(self.started_at):
            raise forms.ValidationError("That is before this firing was started.")
        return seen_on

    @property
    def says_something(self) -> bool:
        return bool(self.cleaned_data.get("kind"))
