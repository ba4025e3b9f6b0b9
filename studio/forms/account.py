from typing import Any

from django import forms
from django.contrib.auth.forms import PasswordChangeForm, SetPasswordForm

from studio.forms.editing import SavesOwnChanges
from studio.forms.people import LONG_ENOUGH
from studio.models import Person


class AccountForm(SavesOwnChanges, forms.ModelForm):
    class Meta:
        model = Person
        fields = ["name", "email", "unit"]
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "name"}),
            "email": forms.EmailInput(attrs={"autocomplete": "email"}),
            "unit": forms.RadioSelect,
        }


class NewPasswordForm(SetPasswordForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_passwords(self)


class ChangedPasswordForm(PasswordChangeForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["old_password"].label = "Password now"
        say_passwords(self)


def say_passwords(form: forms.BaseForm) -> None:
    form.fields["new_password1"].help_text = LONG_ENOUGH
    form.fields["new_password2"].label = "The new password again"
    form.fields["new_password2"].help_text = ""
