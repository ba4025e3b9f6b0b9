"""What somebody overrules of how a file was read; an empty field leaves it as it was found."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.utils import timezone

from firings.services.recording import RecordingPreview
from firings.wording import DATE_ORDERS, TIME_UNITS
from studio.formats import DEGREE
from studio.forms.studio_page import time_zones

AS_FOUND = "as found"
UNKNOWN_COLUMNS = 20
"""Columns that are offered by number where the file could not be read at all."""

DECIMALS = {".": "point: 803.5", ",": "comma: 803,5"}


class ReadingChoicesForm(forms.Form):
    """Cleans to what `RecordingFile.choices` keeps: only what was chosen, ready for JSON."""

    unit = forms.ChoiceField(label="The temperatures are in", required=False)
    channel = forms.TypedChoiceField(
        label="Which column is the kiln", coerce=int, empty_value=None, required=False
    )
    date_order = forms.ChoiceField(label="Dates are written", required=False)
    decimal = forms.ChoiceField(label="Decimal sign", required=False)
    time_unit = forms.ChoiceField(label="Plain numbers of time are", required=False)
    time_zone = forms.ChoiceField(label="The logger’s clock runs in", required=False)
    starts_on = forms.DateField(
        label="Day of the first reading",
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        help_text="Where the file names none.",
    )

    def __init__(
        self, *args: Any, preview: RecordingPreview | None, kept: Mapping[str, Any], **kwargs: Any
    ) -> None:
        super().__init__(*args, **{"initial": dict(kept), **kwargs})
        found = None if preview is None else preview.choices
        zone = timezone.get_current_timezone_name()
        self._offer("unit", DEGREE, None if preview is None else preview.unit)
        self._offer("channel", dict(_columns(preview, kept)), found and found.channel)
        self._offer("date_order", DATE_ORDERS, found and found.date_order)
        self._offer("decimal", DECIMALS, found and found.decimal)
        self._offer("time_unit", TIME_UNITS, found and found.time_unit)
        self._offer("time_zone", dict(time_zones(kept=kept.get("time_zone") or zone)), zone)

    def _offer(self, name: str, words: Mapping[Any, str], found: Any) -> None:
        """The choices of a field; the first leaves it as it was found, and says how that was."""
        as_found = AS_FOUND if found is None else f"{AS_FOUND}: {words.get(found, found)}"
        self.fields[name].choices = [("", as_found), *words.items()]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        chosen = {
            name: value for name, value in self.cleaned_data.items() if value not in (None, "")
        }
        if day := chosen.get("starts_on"):
            chosen["starts_on"] = day.isoformat()
        self.cleaned_data = chosen
        return chosen


def _columns(
    preview: RecordingPreview | None, kept: Mapping[str, Any]
) -> Iterable[tuple[int, str]]:
    """Columns by name, or else by number as one counts them, from 1."""
    if preview is None:
        columns = dict.fromkeys(range(UNKNOWN_COLUMNS), "")
    else:
        columns = {each.column: each.name for each in preview.channels}
    if (chosen := kept.get("channel")) is not None:
        columns.setdefault(chosen, "")
    for column, name in sorted(columns.items()):
        yield column, name or f"column {column + 1}"
