"""Which slot of a controller holds which revision."""

from typing import Any

from django import forms

from schedules.models import Revision
from schedules.models.controller_memory import MOST_SLOTS
from studio.models import Kiln


class _RevisionChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Revision) -> str:
        return f"{obj.schedule.name}, rev. {obj.number}"


class SlotForm(forms.Form):
    """A keying card sends it too, with the slot alone to be written."""

    revision = _RevisionChoice(
        Revision.objects.none(),
        required=False,
        label="What stands in it",
        empty_label="a program that is not on record",
    )

    def __init__(self, *args: Any, kiln: Kiln, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        most = kiln.memory_slots or MOST_SLOTS
        slot = forms.IntegerField(
            min_value=1,
            max_value=most,
            label=f"Memory slot, 1 to {most}",
            widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
            error_messages={
                "max_value": f"{kiln}’s controller has {most} memory slots, by its record."
            },
        )
        self.fields = {"slot": slot} | self.fields
        self.fields["revision"].queryset = (  # type: ignore[attr-defined]
            Revision.objects.select_related("schedule").order_by(
                "schedule__name", "schedule_id", "-number"
            )
        )
