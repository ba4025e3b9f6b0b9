from typing import Any

from django import forms
from django.db.models import Q

from schedules.models import Schedule
from studio.models import TeachingClass


class ClassSchedulesForm(forms.Form):
    schedules = forms.ModelMultipleChoiceField(
        Schedule.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: its students may fire every schedule.",
    )

    def __init__(self, *args: Any, teaching_class: TeachingClass, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chosen = Q(classes__teaching_class=teaching_class)
        field = self.fields["schedules"]
        field.queryset = Schedule.objects.filter(Q(archived_at=None) | chosen).distinct()  # type: ignore[attr-defined]
        field.initial = list(Schedule.objects.filter(chosen).values_list("pk", flat=True))
