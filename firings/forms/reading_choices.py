"""What somebody overrules of how a file was read; an empty field leaves it as it was found."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils import timezone

from firings.services.recording import RecordingPreview
from firings.wording import DATE_ORDERS, TIME_FORMS, TIME_UNITS
from studio.formats import DEGREE
from studio.forms.studio_page import time_zones

AS_FOUND = "as found"
UNKNOWN_COLUMNS = 20
"""Columns that are offered by number where the file could not be read at all."""

DECIMALS = {".": "point: 803.5", ",": "comma: 803,5"}
DELIMITERS = {
    ",": "a comma",
    ";": "a semicolon",
    "\t": "a tab",
    "|": "an upright bar",
    " ": "blanks",
}
ALL_YEAR = {f"Etc/GMT{-hours:+d}": f"UTC{hours:+d}, all year" for hours in range(-11, 14) if hours}
"""Zones of clocks that nobody changes in spring, named as they are and not as they are filed."""

OVERRULED_BY: Mapping[str, tuple[str, ...]] = {
    # what the reader guessed
    "unit_guessed": ("unit",),
    "unit_overruled": ("unit",),
    "units_mixed": ("unit",),
    "channel_chosen": ("channel",),
    "sheet_chosen": ("sheet",),
    "decimal_sign_assumed": ("decimal",),
    "time_column_chosen": ("time_column",),
    "date_order_assumed": ("date_order",),
    "date_order_from_sequence": ("date_order",),
    "date_from_notes": ("starts_on",),
    "no_date": ("starts_on",),
    "no_zone": ("time_zone",),
    "time_unit_guessed": ("time_unit",),
    "time_form_guessed": ("time_form",),
    "elapsed_time_assumed": ("time_form",),
    "midnight_passed": ("time_form",),
    "clock_set_back": ("time_zone",),
    "clock_not_changed": ("time_zone",),
    "hour_twice_assumed": ("time_zone",),
    # why it could not be read
    "not_a_table": ("delimiter",),
    "columns_not_found": ("sheet", "delimiter"),
    "column_missing": ("sheet", "delimiter", "time_column", "date_column", "channel"),
    "time_not_found": ("sheet", "delimiter", "time_column"),
    "temperature_not_found": ("sheet", "delimiter", "time_column", "channel"),
    "more_cells_than_names": ("delimiter", "decimal"),
    "time_not_understood": ("time_column", "date_column", "date_order"),
    "temperature_not_understood": ("channel", "decimal"),
    "too_few_readings": ("sheet", "time_column", "channel"),
    "sheet_missing": ("sheet",),
    "empty": ("sheet",),
}
"""The fields that answer a remark or an error of the reader, by its code."""


class ReadingChoicesForm(forms.Form):
    """Cleans to what `RecordingFile.choices` keeps: only what was chosen, ready for JSON."""

    sheet = forms.ChoiceField(label="Sheet of the workbook", required=False)
    unit = forms.ChoiceField(label="The temperatures are in", required=False)
    channel = forms.TypedChoiceField(
        label="Which column is the kiln", coerce=int, empty_value=None, required=False
    )
    time_column = forms.TypedChoiceField(
        label="Which column is the time", coerce=int, empty_value=None, required=False
    )
    date_column = forms.TypedChoiceField(
        label="Which column is the date",
        coerce=int,
        empty_value=None,
        required=False,
        help_text="Where it stands apart from the time.",
    )
    date_order = forms.ChoiceField(label="Dates are written", required=False)
    time_form = forms.ChoiceField(label="Times with colons are", required=False)
    time_unit = forms.ChoiceField(label="Plain numbers of time are", required=False)
    decimal = forms.ChoiceField(label="Decimal sign", required=False)
    delimiter = forms.ChoiceField(label="Columns are parted by", required=False)
    time_zone = forms.ChoiceField(label="The logger’s clock runs in", required=False)
    starts_on = forms.DateField(
        label="Day of the first reading",
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        help_text="Where the file names none.",
    )

    def __init__(
        self,
        *args: Any,
        preview: RecordingPreview | None,
        kept: Mapping[str, Any],
        sheets: Sequence[str] = (),
        codes: Collection[str] = (),
        **kwargs: Any,
    ) -> None:
        """`sheets` of a workbook; `codes` of the remarks on the file, or of what is wrong with it.

        The fields that answer these, and those in which something was chosen, stand first.
        """
        super().__init__(*args, **{"initial": dict(kept), **kwargs})
        found = None if preview is None else preview.choices
        zone = timezone.get_current_timezone_name()
        zones = dict(time_zones(kept=kept.get("time_zone") or zone)) | ALL_YEAR
        self._offer("sheet", {name: name for name in sheets}, found and found.sheet)
        self._offer("unit", DEGREE, None if preview is None else preview.unit)
        self._offer("channel", _channels(preview, kept), found and found.channel)
        for name in ("time_column", "date_column"):
            self._offer(name, _columns(preview, kept.get(name)), found and getattr(found, name))
        self._offer("date_order", DATE_ORDERS, found and found.date_order)
        self._offer("time_form", TIME_FORMS, found and found.time_form)
        self._offer("time_unit", TIME_UNITS, found and found.time_unit)
        self._offer("decimal", DECIMALS, found and found.decimal)
        self._offer("delimiter", DELIMITERS, found and found.delimiter)
        self._offer("time_zone", zones, zone)
        if len(sheets) < 2 and "sheet" not in kept:
            del self.fields["sheet"]
        if sheets:
            del self.fields["delimiter"]
        answering = {name for code in codes for name in OVERRULED_BY.get(code, ())}
        self._first = answering | set(kept)

    def _offer(self, name: str, words: Mapping[Any, str], found: Any) -> None:
        """The choices of a field; the first leaves it as it was found, and says how that was."""
        as_found = AS_FOUND if found is None else f"{AS_FOUND}: {words.get(found, found)}"
        self.fields[name].choices = [("", as_found), *words.items()]  # type: ignore[attr-defined]

    @property
    def first(self) -> list[BoundField]:
        """What was guessed, what was chosen, and what was chosen wrongly."""
        return [field for field in self if field.name in self._first or field.errors]

    @property
    def rest(self) -> list[BoundField]:
        first = {field.name for field in self.first}
        return [field for field in self if field.name not in first]

    def clean(self) -> dict[str, Any]:
        chosen = {
            name: value for name, value in self.cleaned_data.items() if value not in (None, "")
        }
        if day := chosen.get("starts_on"):
            chosen["starts_on"] = day.isoformat()
        self.cleaned_data = chosen
        return chosen


def _channels(preview: RecordingPreview | None, kept: Mapping[str, Any]) -> dict[int, str]:
    """Of all columns those that may be temperatures, and the one that was chosen."""
    columns = _columns(preview, kept.get("channel"))
    if preview is None:
        return columns
    wanted = {*(each.column for each in preview.channels), kept.get("channel")}
    return {column: name for column, name in columns.items() if column in wanted}


def _columns(preview: RecordingPreview | None, chosen: int | None) -> dict[int, str]:
    """Columns by name, or else by number as one counts them, from 1."""
    names = list(preview.names) if preview is not None else [""] * UNKNOWN_COLUMNS
    columns = {column: _called(column, names) for column in range(len(names))}
    if chosen is not None:
        columns.setdefault(chosen, _called(chosen))
    return columns


def _called(column: int, names: Sequence[str] = ()) -> str:
    name = names[column] if names else ""
    if not name:
        return f"column {column + 1}"
    return name if names.count(name) == 1 else f"{name} (column {column + 1})"
