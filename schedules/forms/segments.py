"""The rows in which a schedule's segments are keyed, in °C or °F as they are written."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from schedules.models.schedule import LONGEST_HOLD_MINUTES
from schedules.services.writing import WrittenSegment
from studio import formats
from studio.forms.fields import DurationField, TemperatureField
from studio.services.units import rate_to_celsius, to_celsius

MOST_SEGMENTS = 60
COLDEST_TARGET_C, HOTTEST_TARGET_C = 20.0, 1300.0
FASTEST_RATE_C_PER_H = 1000.0
FULL_POWER_WORDS = {"full", "full power"}


class NumberField(forms.DecimalField):
    """A decimal as people key it: with a comma or a point, a true minus sign, a degree sign."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(max_digits=6, decimal_places=2, **kwargs)
        self.error_messages |= {
            "invalid": "Enter a number.",
            "max_decimal_places": "Two decimals at the most.",
            "max_digits": "That is more digits than a schedule has.",
            "max_whole_digits": "That is more digits than a schedule has.",
        }

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, str):
            for sign in ("°C", "°F", "°", "/h"):
                value = value.replace(sign, "")
            value = value.replace(formats.MINUS, "-").replace(",", ".")
        return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class RateField(NumberField):
    """A rate; empty, or in words, for full power."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.error_messages["invalid"] = "Enter a number, or leave it empty for full power."

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, str) and value.strip().lower() in FULL_POWER_WORDS:
            return None
        return super().to_python(value)


class HoldField(DurationField):
    """A hold, keyed as minutes or h:mm; empty is no hold."""

    def to_python(self, value: Any) -> int | None:
        if str(value).strip().startswith(("-", formats.MINUS)):
            raise ValidationError("A hold can’t be negative; 0 is no hold.", code="negative")
        return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int):
            hours, minutes = divmod(round(value / 60), 60)
            return f"{hours}:{minutes:02d}" if hours else f"{minutes}"
        return value


class SegmentForm(forms.Form):
    rate = RateField(
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "placeholder": "full"}),
    )
    target = NumberField(error_messages={"required": "Each segment has a target."})
    hold = HoldField(
        required=False,
        longest_s=LONGEST_HOLD_MINUTES * 60,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "placeholder": "0"}),
    )

    def __init__(self, *args: Any, unit: str = "C", **kwargs: Any) -> None:
        self.unit = unit
        super().__init__(*args, **kwargs)
        example = TemperatureField.EXAMPLES[unit]
        self.fields["target"].error_messages["invalid"] = f"Enter a number, such as {example}."
        for field in self.fields.values():
            field.widget.attrs["autocomplete"] = "off"

    def clean_rate(self) -> Decimal | None:
        rate: Decimal | None = self.cleaned_data["rate"]
        if rate is None:
            return None
        if rate <= 0:
            raise ValidationError(
                "A rate is above 0; its direction comes from the target.", code="not_positive"
            )
        if rate_to_celsius(float(rate), self.unit) > FASTEST_RATE_C_PER_H + 1e-6:
            raise ValidationError(
                "At most %(fastest)s; leave it empty for full power.",
                params={"fastest": formats.rate(FASTEST_RATE_C_PER_H, self.unit)},
                code="too_fast",
            )
        return rate

    def clean_target(self) -> Decimal:
        target: Decimal = self.cleaned_data["target"]
        target_c = to_celsius(float(target), self.unit)
        if not COLDEST_TARGET_C - 1e-6 <= target_c <= HOTTEST_TARGET_C + 1e-6:
            raise ValidationError(
                "Between %(coldest)s and %(hottest)s, please.",
                params={
                    "coldest": formats.temperature(COLDEST_TARGET_C, self.unit),
                    "hottest": formats.temperature(HOTTEST_TARGET_C, self.unit),
                },
                code="out_of_range",
            )
        return target

    def written(self) -> WrittenSegment:
        data = self.cleaned_data
        return WrittenSegment(data["rate"], data["target"], Decimal((data["hold"] or 0) // 60))


class BaseSegmentFormSet(forms.BaseFormSet):
    def initial_form_count(self) -> int:
        """What is sent is read afresh: no row of it is held against what stood there before."""
        return 0 if self.is_bound else super().initial_form_count()

    def filled(self) -> list[SegmentForm]:
        """The rows in which something stands; an empty row counts for nothing."""
        return [form for form in self.forms if form.has_changed()]


SegmentFormSet = forms.formset_factory(
    SegmentForm, formset=BaseSegmentFormSet, extra=0, max_num=MOST_SEGMENTS, absolute_max=100
)


def written_initial(segments: list[WrittenSegment]) -> list[dict[str, Any]]:
    """What a row shows of a segment that is on record."""
    return [
        {"rate": each.rate, "target": each.target, "hold": int(each.hold_minutes) * 60}
        for each in segments
    ]


def typed_segment(segment: WrittenSegment) -> dict[str, str]:
    """A segment as somebody would type it into a row."""
    fields = SegmentForm.base_fields
    [initial] = written_initial([segment])
    return {
        name: "" if value in (None, 0) else str(fields[name].prepare_value(value))
        for name, value in initial.items()
    }


def typed_rows(data: Mapping[str, Any], prefix: str) -> list[dict[str, str]]:
    """The rows of a form as they were typed, readable or not."""
    try:
        total = int(data.get(f"{prefix}-TOTAL_FORMS", 0))
    except ValueError:
        total = 0
    return [
        {name: data.get(f"{prefix}-{row}-{name}", "") for name in SegmentForm.base_fields}
        for row in range(max(0, min(total, MOST_SEGMENTS)))
    ]


def rearranged(rows: list[dict[str, str]], do: str) -> tuple[list[dict[str, str]], int, str]:
    """The rows after one act, such as “up-3”, with the row and the part of it to go on at.

    Acts are add (after a row, or at the end), up, down and remove; rows are counted from 0.
    """
    act, _, where = do.partition("-")
    rows = [dict(row) for row in rows]
    last = len(rows) - 1
    row = int(where) if where.isdecimal() else last if act == "add" else -1
    if act == "add" and len(rows) < MOST_SEGMENTS:
        row = min(row, last) + 1
        rows.insert(row, dict.fromkeys(SegmentForm.base_fields, ""))
        return rows, row, "rate"
    if not 0 <= row < len(rows):
        return rows, -1, ""
    if act == "remove":
        del rows[row]
        return rows, min(row, len(rows) - 1), "rate"
    other = {"up": row - 1, "down": row + 1}.get(act, -1)
    if 0 <= other < len(rows):
        rows[row], rows[other] = rows[other], rows[row]
        return rows, other, act
    return rows, -1, ""
