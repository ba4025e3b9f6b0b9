"""What runs and nobody wrote down: one reading, then what it was."""

from typing import Any

from django import forms

from firings.forms.choices import people_to_write_for, revision_field
from firings.forms.times import DateAndTimeField, require_past
from firings.models import UnknownFiring
from firings.queries.plan import revisions_to_fire
from studio.forms.fields import TemperatureField, UnitForm
from studio.models import Person


class FoundRunningForm(UnitForm, forms.Form):
    seen_c = TemperatureField(label="The display shows", lowest_c=-20, highest_c=1400)
    note = forms.CharField(
        max_length=200, required=False, help_text="What else you see, as “lid warm, no slip”."
    )


class BecomesForm(forms.Form):
    revision = revision_field(empty_label="choose a schedule")
    started_at = DateAndTimeField(label="Started", help_text="As near as you know.")
    title = forms.CharField(max_length=120, required=False)

    def __init__(self, *args: Any, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["revision"].queryset = revisions_to_fire(())  # type: ignore[attr-defined]
        self.fields["fired_by"] = forms.ModelChoiceField(
            people_to_write_for(writer), label="Who", initial=writer, empty_label=None
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        require_past(self, "started_at")
        return cleaned


class DismissForm(forms.ModelForm):
    reason = forms.CharField(
        max_length=200, help_text="As “switched off and empty” or “it was a dry-out of the shelf”."
    )

    class Meta:
        model = UnknownFiring
        fields = ["reason"]
