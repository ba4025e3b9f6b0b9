"""What happened while a kiln fired."""

from typing import Any

from django import forms
from django.utils import timezone

from firings.actions.record import CLOCKS_DIFFER
from firings.forms.times import DateAndTimeField
from firings.models import EventKind, FiringEvent


class EventForm(forms.ModelForm):
    happened_at = DateAndTimeField(label="When")

    class Meta:
        model = FiringEvent
        fields = ["kind", "happened_at", "minutes", "note"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        firing = self.instance.firing
        over = firing.opened_at is not None
        self.initial["happened_at"] = firing.started_at if over else timezone.now()
        self.fields["kind"].choices = [("", "choose"), *EventKind.choices]  # type: ignore[attr-defined]

    def clean_happened_at(self) -> Any:
        time, firing = self.cleaned_data["happened_at"], self.instance.firing
        # What is keyed has no seconds: an event in the minute of the start is not before it.
        if firing.started_at and time < firing.started_at.replace(second=0, microsecond=0):
            raise forms.ValidationError("That is before this firing was started.")
        if firing.opened_at and time > firing.opened_at:
            raise forms.ValidationError("That is after this kiln was opened.")
        if time > timezone.now() + CLOCKS_DIFFER:
            raise forms.ValidationError("This lies in the future.")
        return time
