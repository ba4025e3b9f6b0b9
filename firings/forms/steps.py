"""Forms of the steps that a piece is to go."""

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.choices import HeadedChoiceField, PersonField
from firings.forms.load import SIZE_TAKEN, THICKNESS_TAKEN
from firings.models import MAY_BE_FIRED, OutsideWork, PieceStep
from firings.models.step import STEP_KINDS
from firings.services.step_sequences import SEQUENCES
from schedules.models import Process, Schedule
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import MillimetreField
from studio.models import Person
from studio.queries.names import ByName

KINDS = [
    ("", "choose"),
    ("In a kiln", Process.choices),
    ("Outside a kiln", OutsideWork.choices),
]
SIZES_AFTER = ["length_after_mm", "width_after_mm", "thickness_after_mm"]
PAST = "That day is past: choose today or a later one."


def day_field(label: str, **kwargs: Any) -> forms.DateField:
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    return forms.DateField(label=label, widget=widget, **kwargs)


CALLED = {"paste_coldwork": "pâte de verre: "}


def sequence_words(name: str) -> str:
    words = dict(STEP_KINDS)
    return CALLED.get(name, "") + " → ".join(words[kind] for kind in SEQUENCES[name])


class BeginForm(forms.Form):
    """A ready-made sequence, for a piece that exists, or, with a `writer`, for a new one."""

    title = forms.CharField(max_length=120, help_text="What you call it, as “Tide bowl”.")
    sequence = forms.ChoiceField(
        label="Its steps",
        choices=[(name, sequence_words(name)) for name in SEQUENCES],
        widget=forms.RadioSelect,
        help_text="Each can be changed, skipped or moved, and others added.",
    )
    wanted_by = day_field("Finished by", required=False)

    def __init__(self, *args: Any, writer: Person | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if writer is None:
            del self.fields["title"]
        else:
            self.fields["maker"] = PersonField(writer)
            self.order_fields(["title", "maker"])

    def clean_wanted_by(self) -> date | None:
        return not_past(self.cleaned_data["wanted_by"])


class StepForm(SavesOwnChanges, forms.ModelForm):
    kind = forms.ChoiceField(label="What is done", choices=KINDS)
    schedule = HeadedChoiceField(
        Schedule.objects.none(),
        heading_of=lambda schedule: schedule.get_process_display(),
        required=False,
        empty_label="not chosen yet",
        help_text="For a firing.",
    )
    wanted_by = day_field("Wanted by", required=False)

    class Meta:
        model = PieceStep
        fields = ["kind", "schedule", "wanted", "wanted_by"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kept = self.instance.schedule_id or 0
        known = Schedule.objects.filter(archived_at=None) | Schedule.objects.filter(pk=kept)
        rows = known.select_related("family").order_by("process", ByName("name"), "pk")
        self.fields["schedule"].queryset = rows  # type: ignore[attr-defined]
        if self.instance.pk and self.instance.standing not in MAY_BE_FIRED:
            del self.fields["kind"]

    def clean_wanted_by(self) -> date | None:
        day: date | None = self.cleaned_data["wanted_by"]
        return not_past(day) if "wanted_by" in self.changed_data else day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind = cleaned.get("kind") or self.instance.kind
        schedule = cleaned.get("schedule")
        if schedule is not None and kind and schedule.process != kind:
            words = dict(STEP_KINDS)[kind]
            self.add_error(
                "schedule",
                f"It is written for {schedule.get_process_display()}, and the step is: {words}.",
            )
        return cleaned

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.fields}

    def changes(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.changed_data}


class StepDoneForm(forms.ModelForm):
    """The day, and after work outside a kiln what was measured."""

    done_on = day_field("Done on")

    class Meta:
        model = PieceStep
        fields = ["done_on", *SIZES_AFTER]
        field_classes = dict.fromkeys(SIZES_AFTER, MillimetreField)
        help_texts = {
            "length_after_mm": SIZE_TAKEN,
            "width_after_mm": SIZE_TAKEN,
            "thickness_after_mm": f"{THICKNESS_TAKEN} Empty: as thick as before.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {"done_on": timezone.localdate()})
        super().__init__(*args, **kwargs)
        if not self.instance.is_outside:
            for name in SIZES_AFTER:
                del self.fields[name]
        elif self.instance.kind == OutsideWork.CUT:
            del self.fields["thickness_after_mm"]


class SkipForm(forms.Form):
    reason = forms.CharField(
        max_length=200,
        label="Why it is skipped",
        help_text="As “slumped in one with the fuse”.",
    )


def not_past(day: date | None) -> date | None:
    if day is not None and day < timezone.localdate():
        raise forms.ValidationError(PAST)
    return day
