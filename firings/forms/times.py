"""A day and a time of day, as one keys it in the studio's zone."""

import zoneinfo
from datetime import UTC, datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from firings.actions.record import not_ahead
from firings.models import Firing
from studio.forms.fields import ShownRounded

KEYED = "%Y-%m-%dT%H:%M"


class DateAndTimeField(ShownRounded, forms.DateTimeField):
    """Cleans to an aware time; shows one in the studio's zone.

    An hour that comes twice, when the clocks go back, means its first coming, unless it comes back
    as it was shown; one that never comes is refused.
    """

    widget = forms.DateTimeInput(format=KEYED, attrs={"type": "datetime-local"})

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.error_messages["invalid"] = "Write a day and a time, as 2026-03-08 18:30."

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        if isinstance(value, datetime):
            return value
        try:
            keyed = datetime.fromisoformat(str(value).strip())
        except ValueError as unread:
            raise ValidationError(self.error_messages["invalid"], code="invalid") from unread
        if keyed.tzinfo is not None:
            return keyed
        zone = zoneinfo.ZoneInfo(timezone.get_current_timezone_name())
        moment = keyed.replace(tzinfo=zone).astimezone(UTC)
        if moment.astimezone(zone).replace(tzinfo=None) != keyed:
            raise ValidationError("The clocks went forward: that hour never was.", code="no_hour")
        return moment

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, datetime):
            return timezone.localtime(value).strftime(KEYED)
        return value


def require_past(form: forms.BaseForm, *names: str) -> None:
    """Say at each of these fields where its time lies ahead."""
    for name in names:
        time = form.cleaned_data.get(name)
        try:
            if time is not None:
                not_ahead(time)
        except ValidationError as ahead:
            form.add_error(name, ahead)


def within_firing(time: datetime, firing: Firing) -> datetime:
    """The time of something that happened in a firing; `ValidationError` where it can't have."""
    if firing.started_at is None:
        raise ValidationError("This firing has not been started.", code="too_early")
    # What is keyed has no seconds: what happens in the minute of the start is not before it.
    if time < firing.started_at.replace(second=0, microsecond=0):
        raise ValidationError("That is before this firing was started.", code="too_early")
    if firing.opened_at and time > firing.opened_at:
        raise ValidationError("That is after this kiln was opened.", code="too_late")
    return not_ahead(time)
