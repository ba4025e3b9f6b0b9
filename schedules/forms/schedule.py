from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from schedules.models import Process, Schedule
from studio.forms.editing import SavesOwnChanges
from studio.models import GlassFamily

THINNEST_MM, THICKEST_MM = 0.5, 100.0


class ScheduleForm(forms.ModelForm):
    """A schedule's own facts, apart from its segments."""

    class Meta:
        model = Schedule
        fields = ["name", "process", "family", "thinnest_mm", "thickest_mm", "note"]
        labels = {
            "family": "Glass family",
            "thinnest_mm": "Thinnest, mm",
            "thickest_mm": "Thickest, mm",
        }
        help_texts = {"thinnest_mm": "0.5 to 100.", "thickest_mm": "0.5 to 100."}
        widgets = {
            "thinnest_mm": forms.TextInput(attrs={"inputmode": "decimal"}),
            "thickest_mm": forms.TextInput(attrs={"inputmode": "decimal"}),
            "note": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["family"].empty_label = "choose"  # type: ignore[attr-defined]
        if isinstance(process := self.fields.get("process"), forms.ChoiceField):
            process.choices = [("", "choose"), *Process.choices]
        for name in ("thinnest_mm", "thickest_mm"):
            self.fields[name].error_messages["invalid"] = (
                "Enter a number of millimetres, such as 6."
            )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        process = data.get("process") or self.instance.process
        if "family" in self.fields and process and process != Process.METAL_CLAY:
            family: GlassFamily | None = data.get("family")
            if family is None and "family" not in self.errors:
                self.add_error("family", "Choose the family of the glass.")
        thinnest, thickest = data.get("thinnest_mm"), data.get("thickest_mm")
        if thinnest is not None and thickest is not None and thinnest > thickest:
            self.add_error(
                "thickest_mm", ValidationError("Not thinner than the thinnest.", code="order")
            )
        return data


class ScheduleEditForm(SavesOwnChanges, ScheduleForm):
    """What may change of a schedule without a revision."""

    class Meta(ScheduleForm.Meta):
        fields = ["name", "family", "thinnest_mm", "thickest_mm", "note"]


def thickness_asked(query: Mapping[str, str]) -> dict[str, float]:
    """The thickness for which an address asks a new schedule to be begun, mm; what can't be read,
    or is none, is left out."""
    asked: dict[str, float] = {}
    for name in ("thinnest_mm", "thickest_mm"):
        try:
            value = float(query.get(name, ""))
        except ValueError:
            continue
        if THINNEST_MM <= value <= THICKEST_MM:
            asked[name] = value
    return asked
