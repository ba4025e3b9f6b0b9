"""What was keyed into the controller, number by number beside what the revision says."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django import forms

from firings.models import Firing
from firings.models.record import KeyedPart
from schedules.models import RevisionSegment
from schedules.services.writing import SECONDS_PER_MINUTE, WrittenSegment
from studio.formats import DEGREE
from studio.forms.fields import DurationField


class DegreesField(forms.DecimalField):
    """Degrees in the unit of the revision, never converted."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs["widget"] = forms.TextInput(attrs={"inputmode": "decimal"})
        super().__init__(max_digits=6, decimal_places=2, **kwargs)
        self.error_messages["invalid"] = "Enter a number of degrees."

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class KeyedForm(forms.Form):
    """One row for each segment of the firing's revision, filled with what was keyed."""

    def __init__(self, *args: Any, firing: Firing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.written = list(firing.revision.segments.all())
        degree = DEGREE[firing.revision.unit]
        keyed = {(row.position, row.part): row for row in firing.keyed_differences.all()}
        for segment in self.written:
            at = segment.position
            rate, target, hold = (
                keyed.get((at, part)) for part in (KeyedPart.RATE, KeyedPart.TARGET, KeyedPart.HOLD)
            )
            self.fields[f"rate_{at}"] = DegreesField(
                label=f"Rate, {degree}/h",
                required=False,
                min_value=Decimal("0.01"),
                max_value=Decimal(1800),
                initial=rate.value if rate else segment.rate,
            )
            self.fields[f"target_{at}"] = DegreesField(
                label=f"Target, {degree}",
                min_value=Decimal(0),
                max_value=Decimal(2500),
                initial=target.value if target else segment.target,
            )
            minutes = hold.value if hold and hold.value is not None else segment.hold_minutes
            self.fields[f"hold_{at}"] = DurationField(
                label="Hold", initial=int(minutes) * SECONDS_PER_MINUTE
            )

    def rows(self) -> Iterator[tuple[RevisionSegment, list[forms.BoundField]]]:
        """Each segment as it was written, with the fields for what was keyed."""
        for segment in self.written:
            at = segment.position
            yield segment, [self[f"{part}_{at}"] for part in ("rate", "target", "hold")]

    def keyed(self) -> list[WrittenSegment]:
        values = self.cleaned_data
        return [
            WrittenSegment(
                rate=values[f"rate_{segment.position}"],
                target=values[f"target_{segment.position}"],
                hold_minutes=Decimal(values[f"hold_{segment.position}"]) / SECONDS_PER_MINUTE,
            )
            for segment in self.written
        ]
