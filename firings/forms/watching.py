"""A display as it is read beside a running kiln, and what somebody found who went to it."""

from datetime import timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from firings.forms.noted import noted_moment
from firings.models import AlarmAnswer, Firing
from studio import formats
from studio.forms.fields import DurationField, TemperatureField, UnitForm


class ReadingNowForm(UnitForm, forms.Form):
    """One field: what is read now, or was while there was no network (`firings.forms.noted`)."""

    temperature_c = TemperatureField(
        label="The display shows",
        lowest_c=-20,
        highest_c=1400,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing = firing
        field = self.fields["temperature_c"]
        field.widget.attrs["data-unit"] = formats.DEGREE[field.unit]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        return {**self.cleaned_data, "at": noted_moment(self.data, self.firing)}


class PowerCutForm(UnitForm, forms.Form):
    temperature_c = TemperatureField(label="The display shows now", lowest_c=-20, highest_c=1400)
    without_s = DurationField(
        label="Time without power",
        help_text="As 1:30, or minutes as 40; as near as you know.",
    )

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing = firing

    def clean_without_s(self) -> int:
        without_s: int = self.cleaned_data["without_s"]
        started_at = self.firing.started_at
        if started_at and timezone.now() - timedelta(seconds=without_s) < started_at:
            raise ValidationError("This firing has not run for so long.", code="too_long")
        return without_s


class AlarmAnswerForm(forms.Form):
    answer = forms.ChoiceField(choices=AlarmAnswer.choices)
