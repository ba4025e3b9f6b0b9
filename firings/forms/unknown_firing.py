"""What runs and nobody wrote down: one reading, then what it was."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils import timezone

from firings.forms.choices import PersonField, revision_field
from firings.forms.times import DateAndTimeField, require_past
from firings.models import Firing, UnknownFiring
from firings.queries.plan import revisions_to_fire
from studio.forms.fields import TemperatureField, UnitForm
from studio.models import Person


class FoundRunningForm(UnitForm, forms.Form):
    seen_c = TemperatureField(label="The display shows", lowest_c=-20, highest_c=1400)
    note = forms.CharField(
        max_length=200, required=False, help_text="What else you see, as “lid warm, no slip”."
    )


class BecomesForm(forms.Form):
    """One of the firings that are planned in its kiln, or a schedule."""

    revision = revision_field(empty_label="choose a schedule")
    started_at = DateAndTimeField(label="Started", help_text="As near as you know.")
    title = forms.CharField(max_length=120, required=False)

    def __init__(
        self, *args: Any, writer: Person, planned: QuerySet[Firing], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        if planned:
            self.fields["planned"] = PlannedField(
                planned,
                label="The planned firing",
                required=False,
                empty_label="none of those that are planned",
            )
        self.fields["revision"].queryset = revisions_to_fire(())  # type: ignore[attr-defined]
        self.fields["fired_by"] = PersonField(writer, label="Who")
        self.order_fields(["planned", "revision", "fired_by", "title", "started_at"])
        if planned:
            self.fields["revision"].required = False
            self.fields["revision"].help_text = "Where it is none of those that are planned."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        require_past(self, "started_at")
        named = cleaned.get("planned") or cleaned.get("revision")
        if not named and not {"planned", "revision"} & self.errors.keys():
            self.add_error("revision", "Choose the planned firing or its schedule.")
        return cleaned


class PlannedField(forms.ModelChoiceField):
    def label_from_instance(self, firing: Firing) -> str:
        start = timezone.localtime(firing.planned_start) if firing.planned_start else None
        when = f"{start.day} {start:%b, %H:%M}" if start else "no time set"
        return f"{firing.title or firing.revision.schedule.name}, {firing.fired_by}, {when}"


class DismissForm(forms.ModelForm):
    reason = forms.CharField(
        max_length=200, help_text="As “switched off and empty” or “it was a dry-out of the shelf”."
    )

    class Meta:
        model = UnknownFiring
        fields = ["reason"]
