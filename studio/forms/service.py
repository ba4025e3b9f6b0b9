from datetime import date
from typing import Any

from django import forms
from django.utils import timezone

from studio.forms.editing import SavesOwnChanges
from studio.models import Kiln, ServiceEntry, ServiceKind


class ServiceEntryForm(SavesOwnChanges, forms.ModelForm):
    class Meta:
        model = ServiceEntry
        fields = ["kind", "done_on", "done_by", "note"]
        widgets = {
            "done_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 2}),
        }
        help_texts = {"done_on": "The day on which it was done.", "note": "Up to 400 letters."}

    def clean_done_on(self) -> date:
        done_on: date = self.cleaned_data["done_on"]
        if done_on > timezone.localdate():
            raise forms.ValidationError("That day is still to come.", code="future")
        return done_on


class ServiceIntervalsForm(forms.Form):
    """For each kind of service two numbers, both of which may stay empty."""

    def __init__(self, *args: Any, kiln: Kiln, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        standing = {each.kind: each for each in kiln.service_intervals.all()}
        for kind, label in ServiceKind.choices:
            known = standing.get(kind)
            self.fields[f"{kind}_firings"] = forms.IntegerField(
                label=f"{label.capitalize()}, every … firings",
                required=False,
                min_value=1,
                max_value=10_000,
                initial=known.every_firings if known else None,
            )
            self.fields[f"{kind}_hours"] = forms.IntegerField(
                label="or every … hours of firing",
                required=False,
                min_value=1,
                max_value=100_000,
                initial=known.every_hours if known else None,
            )

    def rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"{kind}_firings"], self[f"{kind}_hours"]) for kind in ServiceKind.values]

    def intervals(self) -> dict[str, tuple[int | None, int | None]]:
        """Firings and hours by the kind of service, None where nothing was written."""
        given = self.cleaned_data
        return {
            kind: (given[f"{kind}_firings"], given[f"{kind}_hours"]) for kind in ServiceKind.values
        }
