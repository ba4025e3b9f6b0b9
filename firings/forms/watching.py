"""A display as it is read beside a running kiln, and what somebody found who went to it."""

from datetime import datetime
from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.times import DateAndTimeField, within_firing
from firings.models import AlarmAnswer, Firing
from studio.forms.fields import TemperatureField, UnitForm


class ReadingNowForm(UnitForm, forms.Form):
    """One field. `at` comes along only from a phone that had no network when it was noted."""

    temperature_c = TemperatureField(
        label="The display shows",
        lowest_c=-20,
        highest_c=1400,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    at = DateAndTimeField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing = firing

    def clean_at(self) -> datetime:
        at = self.cleaned_data["at"]
        return timezone.now() if at is None else within_firing(at, self.firing)


class AlarmAnswerForm(forms.Form):
    answer = forms.ChoiceField(choices=AlarmAnswer.choices)
