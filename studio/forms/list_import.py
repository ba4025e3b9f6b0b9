"""A file that is brought in, and which of its columns is which."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.template.loader import render_to_string

from studio.lists import BroughtList
from studio.models import ImportState, ListImport, Unit
from studio.queries.list_import import examples_of
from studio.services.lists.columns import order_of_dates, unit_of
from studio.services.lists.degrees import unit_named
from studio.services.lists.table import (
    MOST_BYTES,
    MOST_COLUMNS,
    MOST_ROWS,
    Table,
    TableError,
    read_table,
)

MEGABYTE = 1024 * 1024


class ListFileForm(forms.Form):
    file = forms.FileField(
        label="The file",
        help_text=(
            f"CSV or XLSX with a line of headers; at most {MOST_BYTES // MEGABYTE} MB, "
            f"{MOST_ROWS} rows and {MOST_COLUMNS} columns. Of a workbook the first sheet is read."
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,text/*"}),
    )

    def clean_file(self) -> dict[str, Any]:
        """Its name, the file as it came, and the table in it."""
        file: UploadedFile = self.cleaned_data["file"]
        try:
            if (file.size or 0) > MOST_BYTES:  # before it is all read
                raise TableError("too_large", limit=MOST_BYTES)
            raw = file.read()
            return {"name": file.name or "list", "raw": raw, "table": read_table(raw)}
        except TableError as error:
            words = render_to_string("studio/list_table_error.txt", {"error": error, "file": file})
            raise ValidationError(words.strip(), code=error.code) from error


class ColumnsForm(forms.Form):
    """For each column of the file, which of the list's it is; and how its figures are written."""

    decimal = forms.ChoiceField(
        label="Decimals are written",
        choices=[(".", "with a point: 1.5"), (",", "with a comma: 1,5")],
    )
    day_first = forms.TypedChoiceField(
        label="05/04/2026 is",
        choices=[("day", "the 5th of April"), ("month", "the 4th of May")],
        coerce=lambda said: said == "day",
    )

    def __init__(self, *args: Any, taken: ListImport, brought: BroughtList, **kwargs: Any) -> None:
        at = {place: name for name, place in taken.places.items()}
        initial = {"decimal": taken.decimal, "day_first": "day" if taken.day_first else "month"}
        table = taken.table
        initial |= {f"column_{place}": at.get(place, "") for place in range(len(table.headers))}
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        self.columns = brought.columns
        self.headers = table.headers
        choices = [("", "not used"), *((each.name, each.header) for each in brought.columns)]
        examples = examples_of(table)
        self._asks(taken, brought, table)
        front: dict[str, forms.Field] = {
            f"column_{place}": forms.ChoiceField(
                label=self._header(place),
                choices=choices,
                required=False,
                help_text=f"In it: {', '.join(examples[place])}" if examples[place] else "Empty.",
            )
            for place in range(len(table.headers))
        }
        self.fields = front | self.fields

    def _asks(self, taken: ListImport, brought: BroughtList, table: Table) -> None:
        """What this list never takes as it seems to be stands open until somebody says it."""
        if "unit" in brought.asks:
            self.fields["temperature_unit"] = forms.ChoiceField(
                label="Temperatures that name no unit are in",
                choices=[("", "choose"), *Unit.choices],
                required=False,
                initial=taken.temperature_unit,
                help_text="A unit in the header, the cell or a column of units counts first.",
            )
        undecided = order_of_dates(table, brought.columns, taken.places) is None
        if "day_first" in brought.asks and undecided and taken.state == ImportState.READ:
            day_first = self.fields["day_first"]
            day_first.choices = [("", "choose"), *day_first.choices]  # type: ignore[attr-defined]
            self.initial["day_first"] = ""

    def _header(self, place: int) -> str:
        header = self.headers[place] or f"column {place + 1}"
        like = [at for at, each in enumerate(self.headers) if each == self.headers[place]]
        return f"{header} ({like.index(place) + 1} of {len(like)})" if len(like) > 1 else header

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        places: dict[str, int] = {}
        for place in range(len(self.headers)):
            name = cleaned.get(f"column_{place}")
            if name in places:
                self.add_error(
                    f"column_{place}",
                    f"“{self._header(places[name])}” is that already; each is told by one column.",
                )
            elif name:
                places[name] = place
        missing = [each.words for each in self.columns if each.required and each.name not in places]
        if missing:
            raise ValidationError(f"Say which column has: {', '.join(missing)}.", code="missing")
        if not places:
            raise ValidationError("Say of at least one column what it is.", code="none")
        self._unit_is_said(cleaned, places)
        cleaned["places"] = places
        return cleaned

    def _unit_is_said(self, cleaned: dict[str, Any], places: dict[str, int]) -> None:
        if "temperature_unit" not in self.fields or cleaned["temperature_unit"] or "unit" in places:
            return
        for each in self.columns:
            if each.holds in ("temperature", "rate") and each.name in places:
                header = self.headers[places[each.name]]
                if not unit_named(unit_of(header)):
                    self.add_error("temperature_unit", f"“{header}” names no unit; say it here.")
                    return
