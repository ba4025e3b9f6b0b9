from datetime import date

from django import forms
from django.utils import timezone

from studio.forms.editing import SavesOwnChanges
from studio.models import ServiceEntry


class ServiceEntryForm(SavesOwnChanges, forms.ModelForm):
    class Meta:
        model = ServiceEntry
        fields = ["kind", "done_on", "done_by", "note"]
        widgets = {
            "done_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 2}),
        }
        help_texts = {"done_on": "The day on which it was done.", "note": "Up to 400 letters."}

    def clean_done_on(self) -> date:
        done_on: date = self.cleaned_data["done_on"]
        if done_on > timezone.localdate():
            raise forms.ValidationError("That day is still to come.", code="future")
        return done_on
