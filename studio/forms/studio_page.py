import zoneinfo
from typing import Any

from django import forms

from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import TemperatureDifferenceField, UnitForm
from studio.models import Studio


def time_zones(*, kept: str = "UTC") -> list[tuple[str, str]]:
    """The zones of places, with UTC first; the one kept so far is always among them."""
    places = {name for name in zoneinfo.available_timezones() if "/" in name}
    places = {name for name in places if not name.startswith(("Etc/", "SystemV/", "US/"))}
    return [
        (name, name.replace("_", " ")) for name in ("UTC", *sorted((places | {kept}) - {"UTC"}))
    ]


class StudioForm(SavesOwnChanges, UnitForm, forms.ModelForm):
    time_zone = forms.ChoiceField(help_text="All times are shown in it.")
    largest_peak_step_c = TemperatureDifferenceField(
        highest_c=25.0,
        help_text="A difference. The next-time note never moves the peak by more than this.",
    )

    class Meta:
        model = Studio
        fields = [
            "name",
            "time_zone",
            "largest_peak_step_c",
            "largest_hold_step_minutes",
            "asks_clearing",
            "currency",
        ]
        labels = {"largest_hold_step_minutes": "Largest step of the hold, minutes"}
        help_texts = {
            "largest_hold_step_minutes": "0 to 60. "
            "The note never moves the hold at the top by more than this."
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["time_zone"].choices = time_zones(kept=self.instance.time_zone)  # type: ignore[attr-defined]
