from typing import Any

from django import forms
from django.views.decorators.debug import sensitive_variables

from studio.models import Person, SharedDevice
from studio.services.short_codes import LONGEST, SHORTEST


class DigitsInput(forms.PasswordInput):
    """For a short code: a keypad of digits, never sent back, shown as dots by the style sheet.

    No password field: a browser would offer to keep it, for whoever comes next.
    """

    input_type = "text"

    def __init__(self) -> None:
        super().__init__(
            attrs={
                "class": "dots",
                "inputmode": "numeric",
                "pattern": "[0-9]*",
                "autocomplete": "off",
                "maxlength": LONGEST,
            }
        )


class SetUpForm(forms.ModelForm):
    class Meta:
        model = SharedDevice
        fields = ["name", "unit"]
        widgets = {"unit": forms.RadioSelect}


class ShortCodeForm(forms.Form):
    """The password now, and a code typed twice."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    code = forms.CharField(
        label="Short code",
        help_text=f"{SHORTEST} to {LONGEST} digits. Not one digit over and over, none that count "
        "up or down, no year; and not the one of your phone or bank card.",
        widget=DigitsInput,
        strip=True,
    )
    again = forms.CharField(label="The short code again", widget=DigitsInput)

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    @sensitive_variables("password")
    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        if not self.person.check_password(password):
            raise forms.ValidationError("That is not your password.", code="wrong")
        return password

    def clean(self) -> None:
        super().clean()
        code, again = self.cleaned_data.get("code"), self.cleaned_data.get("again")
        if code and again and code != again:
            self.add_error("again", "The two codes differ.")


class WhoForm(forms.Form):
    """Who saves on a studio device; its fields stand among those of the form that is saved."""

    device_who = forms.ChoiceField(label="Your name", widget=forms.RadioSelect)
    device_code = forms.CharField(label="Your short code", widget=DigitsInput)

    def __init__(self, *args: Any, people: list[Person], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["device_who"].choices = [  # type: ignore[attr-defined]
            (person.pk, person.name) for person in people
        ]
