"""What happened while a kiln fired."""

from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.noted import noted_moment
from firings.forms.times import DateAndTimeField, within_firing
from firings.models import EventKind, FiringEvent


class EventForm(forms.ModelForm):
    happened_at = DateAndTimeField(label="When")

    class Meta:
        model = FiringEvent
        fields = ["kind", "happened_at", "minutes", "note"]
        widgets = {"minutes": forms.NumberInput(attrs={"data-unit": "min", "inputmode": "numeric"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        firing = self.instance.firing
        over = firing.opened_at is not None
        self.initial["happened_at"] = firing.started_at if over else timezone.now()
        self.fields["kind"].choices = [("", "choose"), *EventKind.choices]  # type: ignore[attr-defined]

    def clean_happened_at(self) -> Any:
        return within_firing(self.cleaned_data["happened_at"], self.instance.firing)


class EventNowForm(EventForm):
    """Noted beside the kiln as it happens, so it asks for no time."""

    happened_at = None  # type: ignore[assignment]

    class Meta(EventForm.Meta):
        fields = ["kind", "minutes", "note"]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        self.instance.happened_at = noted_moment(self.data, self.instance.firing)
        return cleaned
