from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, BaseUserCreationForm

from studio.models import Invitation, Person, Role
from studio.queries.classes import classes_to_invite_to
from studio.queries.people import roles_to_invite

LONG_ENOUGH = "At least eight characters; not digits only, and none of the common ones."
NAME_TAKEN = "Someone here signs in by that name already."


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "That name and password don’t belong together. Capitals count in the "
        "password only.",
        "inactive": "This account is closed. The studio’s keeper can open it again.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Sign-in name"
        self.fields["username"].widget.attrs |= {"autocapitalize": "none", "spellcheck": "false"}

    def clean_username(self) -> str:
        """In small letters, so that wrong passwords are counted for one name, however written."""
        return str(self.cleaned_data["username"]).strip().lower()


class NewPersonForm(BaseUserCreationForm):
    """What somebody says of themselves to get an account."""

    class Meta:
        model = Person
        fields = ["name", "sign_in_name", "email", "unit"]
        labels = {"sign_in_name": "Sign-in name"}
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "name"}),
            "sign_in_name": forms.TextInput(
                attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
            ),
            "email": forms.EmailInput(attrs={"autocomplete": "email"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sign_in_name"].widget.attrs.pop("autofocus", None)
        self.fields["password1"].help_text = LONG_ENOUGH
        self.fields["password2"].label = "The password again"
        self.fields["password2"].help_text = ""

    def clean_sign_in_name(self) -> str:
        sign_in_name = str(Person.normalize_username(self.cleaned_data["sign_in_name"]))
        if Person.objects.filter(sign_in_name__iexact=sign_in_name).exists():
            raise forms.ValidationError(NAME_TAKEN, code="taken")
        return sign_in_name

    def of_person(self) -> dict[str, Any]:
        """What the actions that make an account take."""
        asked = ("name", "sign_in_name", "email", "unit")
        return {key: self.cleaned_data[key] for key in asked} | {
            "password": self.cleaned_data["password1"]
        }


class InvitationForm(forms.ModelForm):
    """`inviter` bounds the roles."""

    class Meta:
        model = Invitation
        fields = ["invited_for", "role", "teaching_class", "email"]

    def __init__(self, *args: Any, inviter: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        roles = [(role.value, role.label) for role in roles_to_invite(inviter)]
        self.fields["role"] = forms.ChoiceField(choices=roles, initial=Role.STUDENT)
        self.fields["email"].help_text = "Fills it in for them; nothing is sent by itself."
        self.fields["teaching_class"].queryset = classes_to_invite_to(inviter)  # type: ignore[attr-defined]
        self.fields["teaching_class"].empty_label = "no class"  # type: ignore[attr-defined]
        self.instance.invited_by = inviter

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("teaching_class") and cleaned.get("role") not in (
            Role.STUDENT,
            Role.ARTIST,
        ):
            self.add_error("teaching_class", "Only students and artists join a class.")
        return cleaned


class AnonymousForm(forms.Form):
    """The name typed once more, for what can't be undone."""

    name = forms.CharField(label="Their name, as it stands above", max_length=80)

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"]).strip()
        if name != self.person.name:
            raise forms.ValidationError(f"That is not “{self.person.name}”.")
        return name


class RoleForm(forms.Form):
    role = forms.ChoiceField(choices=Role.choices)
