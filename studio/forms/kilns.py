from typing import Any

from django import forms

from studio import formats
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import TemperatureDifferenceField, TemperatureField, UnitForm
from studio.forms.groups import GroupedForm
from studio.models import Kiln
from studio.services.response_parameters import RISE_TOLD_AT

DATE = {"type": "date"}

KILN_GROUPS = [
    (
        "Kiln",
        "",
        [
            "name",
            "place",
            "chamber_shape",
            "chamber_width_mm",
            "chamber_depth_mm",
            "chamber_height_mm",
            "heat_from",
            "max_temperature_c",
            "power_kw",
            "clearance_mm",
            "serial_number",
            "manual_url",
            "in_service",
        ],
    ),
    (
        "Controller",
        "As its manual says. Schedules are checked against it, in its unit and steps.",
        [
            "controller_segments",
            "controller_unit",
            "controller_step",
            "ramp_entry",
            "field_order",
            "hold_format",
            "longest_hold_minutes",
            "full_power_entry",
            "closing_entry",
            "memory_slots",
        ],
    ),
    (
        "Thermocouple and offset",
        "The offset is how much hotter the glass is than the display says. "
        "Leave it at 0 until something in the kiln has shown it.",
        [
            "thermocouple_type",
            "thermocouple_class",
            "thermocouple_fitted_on",
            "offset_c",
            "offset_measured_on",
            "offset_evidence",
            "repeatability_c",
        ],
    ),
    (
        "How it heats and cools",
        "Estimates do at first; a curve is never drawn faster than these allow. "
        "Where recordings have taught better, plans use that.",
        [
            "rise_at_700_c_per_h",
            "full_power_limit_c",
            "cooling_constant_h",
            "slow_cooling_constant_h",
            "use_learnt_response",
        ],
    ),
    ("Note", "", ["note"]),
]


def _usual(name: str) -> float:
    """What a kiln starts with as long as nobody knows better, in °C."""
    return float(getattr(Kiln(), name))


class KilnForm(SavesOwnChanges, UnitForm, GroupedForm, forms.ModelForm):
    max_temperature_c = TemperatureField(lowest_c=100, highest_c=1300)
    # A browser's own field for addresses would insist on “https://”, which nobody keys by hand.
    manual_url = forms.URLField(
        assume_scheme="https",
        required=False,
        label="Link to the manual",
        max_length=200,
        widget=forms.TextInput(attrs={"inputmode": "url"}),
    )
    offset_c = TemperatureDifferenceField(lowest_c=-40, highest_c=40, initial=_usual("offset_c"))
    full_power_limit_c = TemperatureField(
        lowest_c=RISE_TOLD_AT + 1, highest_c=3000, initial=_usual("full_power_limit_c")
    )
    rise_at_700_c_per_h = TemperatureDifferenceField(
        lowest_c=5, highest_c=6000, initial=_usual("rise_at_700_c_per_h")
    )
    repeatability_c = TemperatureDifferenceField(
        lowest_c=0.1, highest_c=20, initial=_usual("repeatability_c")
    )

    GROUPS = KILN_GROUPS

    class Meta:
        model = Kiln
        fields = [name for _, _, names in KILN_GROUPS for name in names]
        help_texts = {
            "clearance_mm": "From the kiln’s plate or manual.",
            "chamber_width_mm": "50 to 5000.",
            "chamber_depth_mm": "50 to 5000.",
            "chamber_height_mm": "30 to 3000.",
            "power_kw": "0.1 to 200; on the kiln’s plate.",
            "controller_segments": "1 to 200 in one program.",
            "longest_hold_minutes": "Leave empty when there is no limit.",
            "memory_slots": "How many programs it keeps; up to 500.",
            "cooling_constant_h": "0.1 to 200. Hours in which, switched off, "
            "the difference to the room falls to 37 %.",
        }
        widgets = {
            "note": forms.Textarea(attrs={"rows": 4}),
            "thermocouple_fitted_on": forms.DateInput(attrs=DATE, format="%Y-%m-%d"),
            "offset_measured_on": forms.DateInput(attrs=DATE, format="%Y-%m-%d"),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit, say = self.unit, self._say_range
        rise_at = formats.temperature(RISE_TOLD_AT, unit)
        self.fields[
            "rise_at_700_c_per_h"
        ].label = f"Rise at {rise_at} on full power, {formats.DEGREE[unit]} per hour"
        say("max_temperature_c", "; on the plate or in the manual.")
        say("offset_c", ". Plus when the glass is the hotter.")
        say("rise_at_700_c_per_h", ".")
        say("repeatability_c", ". How far two like firings differ at the top.")
        self.fields[
            "full_power_limit_c"
        ].help_text = f"An estimate; above {rise_at} and above the highest allowed."
        self.fields["slow_cooling_constant_h"].help_text = (
            f"Below about {formats.temperature(370, unit)} the walls give heat back; "
            "often twice the first figure."
        )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        limit, highest = cleaned.get("full_power_limit_c"), cleaned.get("max_temperature_c")
        if limit is not None and highest is not None and limit <= highest:
            said = formats.temperature(highest, self.unit)
            self.add_error(
                "full_power_limit_c", f"Above the highest temperature that is allowed, {said}."
            )
        fall, slow = cleaned.get("cooling_constant_h"), cleaned.get("slow_cooling_constant_h")
        if fall is not None and slow is not None and slow < fall:
            self.add_error(
                "slow_cooling_constant_h",
                f"No kiln cools faster later on: at least {fall:g} hours.",
            )
        return cleaned

    def _say_range(self, name: str, words: str) -> None:
        field = self.fields[name]
        assert isinstance(field, TemperatureField)  # noqa: S101
        field.help_text = f"{field.say(field.lowest_c)} to {field.say(field.highest_c)}{words}"
