"""A temperature as somebody reads it off the display and notes it."""

from datetime import datetime
from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.times import DateAndTimeField, within_firing
from firings.models import Firing, FiringState
from studio.forms.fields import TemperatureField, UnitForm


class SpotReadingForm(UnitForm, forms.Form):
    temperature_c = TemperatureField(label="The display shows", lowest_c=-20, highest_c=1400)
    at = DateAndTimeField(label="When")
    note = forms.CharField(
        label="Note", required=False, max_length=200, help_text="What you saw, if you looked in."
    )

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing = firing
        self.initial.setdefault("at", _likely_moment(firing))

    def clean_at(self) -> datetime:
        return within_firing(self.cleaned_data["at"], self.firing)


def _likely_moment(firing: Firing) -> datetime | None:
    """Now while it fires; afterwards the last that was noted, from which one keys on."""
    if firing.state == FiringState.FIRING:
        return timezone.now()
    last = firing.spot_readings.order_by("at").last()
    return firing.started_at if last is None else last.at
