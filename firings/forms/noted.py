"""When something was noted, as the device tells it that kept it until there was a network."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.utils import timezone

from firings.forms.times import DateAndTimeField, within_firing
from firings.models import Firing
from studio.receipts import KEPT_FOR


def noted_moment(data: Mapping[str, Any], firing: Firing) -> datetime:
    """The time at which it was noted; now, where nothing is told of it.

    `noted_at` and `sent_at` are both by the device's clock: how long it waited is right even where
    that clock is wrong, so it is counted back from now. `ValidationError` where it was noted so
    long ago that a second sending would no longer be known, or outside of the firing.
    """
    return within_firing(kept_since(data), firing)


def kept_since(data: Mapping[str, Any]) -> datetime:
    """The same for what needs no firing that runs, such as a photograph of its load."""
    now = timezone.now()
    clock = DateAndTimeField(required=False)
    noted_at, sent_at = clock.clean(data.get("noted_at")), clock.clean(data.get("sent_at"))
    if noted_at is None:
        return now
    is_counted = sent_at is not None and sent_at >= noted_at
    moment: datetime = now - (sent_at - noted_at) if is_counted else noted_at
    if moment < now - KEPT_FOR:
        raise ValidationError(
            "That was noted more than %(days)d days ago: write it on the firing’s record.",
            params={"days": KEPT_FOR.days},
            code="too_old",
        )
    return moment
