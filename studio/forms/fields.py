"""Form fields for what people key: temperatures in their unit, holds and durations.

A field gives core values (°C, seconds) and shows them in the unit or shape that the reader uses.
Forms that hold temperature fields take a keyword `unit` ("C" or "F") through `UnitForm`.
"""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import pretty_name
from django.utils.text import capfirst

from studio import formats
from studio.services.units import from_celsius, rate_from_celsius, rate_to_celsius, to_celsius

_DURATION = re.compile(
    r"^\s*(?:(?P<hours>\d{1,4})\s*(?:h|:)\s*(?P<minutes>[0-5]?\d)?\s*(?:min|m)?"
    r"|(?P<only_minutes>\d{1,5})\s*(?:min|m)?)\s*$"
)


class ShownRounded(forms.Field):
    """Mixin: what comes back as it was shown is the value itself, to its last digit.

    A form saved untouched changes nothing: 804.3 °C never drifts by way of 1479.7 °F.
    """

    def has_changed(self, initial: Any, data: Any) -> bool:
        return not self._is_as_shown(initial, data) and super().has_changed(initial, data)

    def _clean_bound_field(self, bf: forms.BoundField) -> Any:
        if self._is_as_shown(bf.initial, bf.data):
            return bf.initial
        return super()._clean_bound_field(bf)  # type: ignore[misc]

    def _is_as_shown(self, initial: Any, data: Any) -> bool:
        known = initial not in self.empty_values and not isinstance(initial, str)
        return known and self.prepare_value(initial) == data


class TemperatureField(ShownRounded, forms.FloatField):
    """A temperature, keyed in the reader's unit; cleans to °C. Limits are in °C."""

    EXAMPLES = {"C": "804", "F": "1480"}

    def __init__(
        self, *, unit: str = "C", lowest_c: float = 0.0, highest_c: float = 1400.0, **kwargs: Any
    ) -> None:
        self.unit = unit
        self.lowest_c, self.highest_c = lowest_c, highest_c
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(**kwargs)

    def to_core(self, value: float) -> float:
        return float(to_celsius(value, self.unit))

    def from_core(self, value_c: float) -> float:
        return float(from_celsius(value_c, self.unit))

    def say(self, value_c: float) -> str:
        """A limit of this field in its unit: 1300 °C."""
        return formats.temperature(value_c, self.unit)

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        if isinstance(value, str):
            value = value.replace("°C", "").replace("°F", "").replace("°", "").replace("−", "-")
            value = value.strip().replace(",", ".")
        try:
            number = super().to_python(value)
        except ValidationError:
            raise ValidationError(
                "Enter a number, such as %(example)s.",
                params={"example": self.EXAMPLES[self.unit]},
                code="invalid",
            ) from None
        return None if number is None else self.to_core(number)

    def validate(self, value: float | None) -> None:
        super().validate(value)  # type: ignore[arg-type]
        if value is None:
            return
        if not self.lowest_c - 1e-6 <= value <= self.highest_c + 1e-6:
            raise ValidationError(
                "Between %(lowest)s and %(highest)s, please.",
                params={"lowest": self.say(self.lowest_c), "highest": self.say(self.highest_c)},
                code="out_of_range",
            )

    def clean(self, value: Any) -> float | None:
        """°C, exactly the limit where the conversion of a limit's own figure just overshoots it."""
        value_c = super().clean(value)
        return None if value_c is None else min(max(value_c, self.lowest_c), self.highest_c)

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return f"{self.from_core(value):.1f}".removesuffix(".0")
        return value


class TemperatureDifferenceField(TemperatureField):
    """A difference in degrees, keyed in the reader's unit; 18 °F is 10 °C."""

    EXAMPLES = {"C": "5", "F": "9"}

    def to_core(self, value: float) -> float:
        return float(rate_to_celsius(value, self.unit))

    def from_core(self, value_c: float) -> float:
        return float(rate_from_celsius(value_c, self.unit))

    def say(self, value_c: float) -> str:
        """With its sign, where differences of either sign are taken."""
        if self.lowest_c < 0:
            return formats.temperature_difference(value_c, self.unit, 1)
        return formats.temperature_span(value_c, self.unit, 1)


class DurationField(ShownRounded, forms.Field):
    """Hours and minutes, keyed as 1:30, 1 h 30, 90 or 90 min; cleans to seconds."""

    widget = forms.TextInput

    def __init__(self, *, longest_s: float = 10 * 86400, **kwargs: Any) -> None:
        self.longest_s = longest_s
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> int | None:
        if value in self.empty_values:
            return None
        match = _DURATION.match(str(value))
        if match is None:
            raise ValidationError(
                "Write hours and minutes as 1:30, or minutes as 90.", code="invalid"
            )
        if match["only_minutes"] is not None:
            return int(match["only_minutes"]) * 60
        return int(match["hours"]) * 3600 + int(match["minutes"] or 0) * 60

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is not None and value > self.longest_s:
            raise ValidationError(
                "At most %(longest)s.",
                params={"longest": formats.duration(self.longest_s)},
                code="too_long",
            )

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, (int, float)):
            minutes = round(value / 60)
            return f"{minutes // 60}:{minutes % 60:02d}" if minutes >= 60 else f"{minutes} min"
        return value


class MillimetreField(forms.FloatField):
    """A length in millimetres; takes a decimal comma too."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs["widget"] = forms.TextInput(attrs={"inputmode": "decimal"})
        super().__init__(**kwargs)
        self.error_messages["invalid"] = "Enter a number of millimetres, such as 6."

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:
        return f"{value:g}" if isinstance(value, float) else value


class UnitForm(forms.BaseForm):
    """Mixin: gives a form's temperature fields the unit that its reader chose, and says it."""

    def __init__(self, *args: Any, unit: str = "C", **kwargs: Any) -> None:
        self.unit = unit
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, TemperatureField):
                field.unit = unit
                field.label = f"{self._label_of(name, field)}, {formats.DEGREE[unit]}"
                if not field.help_text:
                    field.help_text = (
                        f"{field.say(field.lowest_c)} to {field.say(field.highest_c)}."
                    )

    def _label_of(self, name: str, field: forms.Field) -> str:
        """The field's own label, or its model field's name, or its name in words."""
        if field.label:
            return str(field.label)
        model = getattr(getattr(self, "_meta", None), "model", None)
        if model is not None and name in {f.name for f in model._meta.get_fields()}:
            return str(capfirst(model._meta.get_field(name).verbose_name))
        return str(pretty_name(name))
