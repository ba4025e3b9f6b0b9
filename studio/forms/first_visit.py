from typing import Any

from django import forms

from studio.forms.people import NewPersonForm
from studio.forms.studio_page import time_zones


class FirstVisitForm(NewPersonForm):
    code = forms.CharField(
        label="One-time code",
        max_length=40,
        help_text="It was printed on the console where the site was started.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    studio_name = forms.CharField(label="The studio’s name", max_length=80)
    time_zone = forms.ChoiceField(help_text="All times are shown in it.", initial="UTC")
    field_order = [
        "code",
        "name",
        "sign_in_name",
        "password1",
        "password2",
        "email",
        "unit",
        "studio_name",
        "time_zone",
    ]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["time_zone"].choices = time_zones()  # type: ignore[attr-defined]

    def of_studio(self) -> dict[str, Any]:
        return {key: self.cleaned_data[key] for key in ("code", "studio_name", "time_zone")}
