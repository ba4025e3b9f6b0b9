"""The studio's list of what is looked at before a kiln is started."""

from typing import Any

from django import forms

from studio.models.safety import LONGEST_LINE

MOST_LINES = 30


class SafetyLinesForm(forms.Form):
    """One line of text for each line of the list."""

    lines = forms.CharField(
        label="Before a start, one line each",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 14}),
        help_text="Left empty, the usual lines stand here again.",
    )

    def clean_lines(self) -> list[str]:
        typed = str(self.cleaned_data["lines"]).splitlines()
        lines = list(dict.fromkeys(line.strip() for line in typed if line.strip()))
        if len(lines) > MOST_LINES:
            raise forms.ValidationError(f"At most {MOST_LINES} lines; these are {len(lines)}.")
        for line in lines:
            if len(line) > LONGEST_LINE:
                raise forms.ValidationError(
                    f"“{line[:40]}…” is longer than {LONGEST_LINE} characters."
                )
        return lines

    def texts(self) -> list[str]:
        lines: Any = self.cleaned_data["lines"]
        return list(lines)
