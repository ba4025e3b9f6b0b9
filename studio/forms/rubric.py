from collections.abc import Sequence
from typing import Any

from django import forms

from studio.actions.rubric import MOST_CRITERIA
from studio.models import RubricCriterion


class RubricForm(forms.Form):
    """A few lines, each a criterion with what it looks at; an empty name leaves it out."""

    def __init__(self, *args: Any, criteria: Sequence[RubricCriterion], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = range(1, MOST_CRITERIA + 1)
        for row in self.rows:
            known = criteria[row - 1] if row <= len(criteria) else None
            self.fields[f"name{row}"] = forms.CharField(
                label=f"Criterion {row}",
                max_length=40,
                required=False,
                initial=known.name if known else "",
            )
            self.fields[f"meaning{row}"] = forms.CharField(
                label="What it looks at",
                max_length=200,
                required=False,
                initial=known.meaning if known else "",
            )

    def lines_shown(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"name{row}"], self[f"meaning{row}"]) for row in self.rows]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        names: list[str] = []
        for row in self.rows:
            name = cleaned.get(f"name{row}", "")
            if name and name.lower() in names:
                self.add_error(f"name{row}", "This criterion stands above already.")
            elif not name and cleaned.get(f"meaning{row}"):
                self.add_error(f"name{row}", "Give it a name, or empty both to leave it out.")
            names.append(name.lower())
        if not any(names) and not self.errors:
            raise forms.ValidationError("A rubric has at least one criterion.")
        return cleaned

    def lines(self) -> list[tuple[str, str]]:
        given = self.cleaned_data
        return [
            (given[f"name{row}"], given[f"meaning{row}"])
            for row in self.rows
            if given[f"name{row}"]
        ]
