"""Forms of a class and of joining one."""

from typing import Any

from django import forms
from django.db import transaction
from django.utils import timezone

from studio.actions.classes import may_teach
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import TemperatureField, UnitForm
from studio.models import Kiln, Person, Role, TeachingClass


class DateInput(forms.DateInput):
    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class ClassForm(SavesOwnChanges, UnitForm, forms.ModelForm):
    """A class with its instructors; whoever makes one is among them unless a keeper chooses."""

    starts_on = forms.DateField(label="From", widget=DateInput())
    ends_on = forms.DateField(label="Until", required=False, widget=DateInput())
    highest_temperature_c = TemperatureField(
        label="Highest temperature",
        required=False,
        lowest_c=100.0,
        highest_c=1300.0,
        help_text="What its students plan may not go above it. Empty: no limit beside the kiln’s.",
    )
    instructors = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "A class has at least one instructor."},
    )

    class Meta:
        model = TeachingClass
        fields = [
            "name",
            "starts_on",
            "ends_on",
            "instructors",
            "kilns",
            "highest_temperature_c",
            "asks_clearing",
            "joining_is_open",
            "note",
        ]
        widgets = {
            "kilns": forms.CheckboxSelectMultiple,
            "note": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.writer = writer
        teachers = Person.objects.filter(role__in=[Role.INSTRUCTOR, Role.KEEPER], is_active=True)
        kilns = Kiln.objects.filter(in_service=True)
        if self.instance.pk is None:
            self.fields["starts_on"].initial = timezone.localdate
            if may_teach(writer):
                self.fields["instructors"].initial = [writer.pk]
        else:
            teachers |= Person.objects.filter(classes_taught=self.instance)
            kilns |= Kiln.objects.filter(classes=self.instance)
        self.fields["instructors"].queryset = teachers.distinct()  # type: ignore[attr-defined]
        self.fields["kilns"].queryset = kilns.distinct()  # type: ignore[attr-defined]
        self.fields["kilns"].required = False

    def clean_instructors(self) -> Any:
        """An instructor can't leave a class of their own without one of them."""
        chosen = self.cleaned_data["instructors"]
        if self.writer.role == Role.INSTRUCTOR and self.writer not in chosen:
            raise forms.ValidationError(
                "You can’t take yourself out; a keeper or another instructor of it can."
            )
        return chosen

    @transaction.atomic
    def save(self, commit: bool = True) -> TeachingClass:
        if self.instance.pk is None:
            self.instance.made_by = self.writer
        saved: TeachingClass = super().save(commit)
        return saved


class JoinForm(forms.Form):
    code = forms.CharField(
        label="The class’s code",
        max_length=20,
        help_text="Your instructor has it. Capitals make no difference.",
        widget=forms.TextInput(
            attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
        ),
    )
