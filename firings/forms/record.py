"""Forms of a firing's own facts: planned, started, opened, called off, put right."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.utils import timezone

from firings.forms.booking import KilnField, at_time_taken
from firings.forms.choices import PersonField, revision_field
from firings.forms.times import DateAndTimeField, require_past
from firings.models import AlsoChanged, Firing, FiringState
from firings.queries.plan import planning_remarks, revisions_to_fire, start_by
from schedules.models import Revision
from studio.forms.editing import SavesOwnChanges
from studio.forms.fields import DurationField, TemperatureField, UnitForm
from studio.forms.pictures import HoldsPictures, PicturesField
from studio.models import Kiln, Person, SafetyLine

BLOCKS = "block"


def say_what_blocks(form: forms.BaseForm, revision: Revision, kiln: Kiln, unit: str) -> None:
    """What the kiln can't do, at the schedule."""
    for line in planning_remarks(revision, kiln, unit).lines:
        if line.severity == BLOCKS:
            where = f"Segment {line.position}: " if line.position else ""
            form.add_error("revision", where + line.words)


class PlanForm(SavesOwnChanges, forms.ModelForm):
    """What is to be fired, where and when; what the kiln can't do is said at the schedule."""

    revision = revision_field(empty_label="choose a schedule")
    planned_start = DateAndTimeField(label="Planned start", required=False)
    ready_by = DateAndTimeField(
        label="Cool enough to open by",
        required=False,
        help_text="The start is counted back from it where none is given.",
    )

    class Meta:
        model = Firing
        fields = ["kiln", "revision", "title", "planned_start", "fired_by", "notes", "is_private"]
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(
        self,
        data: Any = None,
        *args: Any,
        writer: Person,
        also: Iterable[Revision | int] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(at_time_taken(data), *args, **kwargs)
        self.writer = writer
        self._chosen: tuple[Revision, Kiln, datetime | None, datetime | None] | None = None
        kilns = Kiln.objects.filter(in_service=True)
        if self.instance.kiln_id:
            kilns |= Kiln.objects.filter(pk=self.instance.kiln_id)
        self.fields["kiln"] = KilnField(kilns, empty_label="choose a kiln")
        self.fields["revision"].queryset = revisions_to_fire(also)  # type: ignore[attr-defined]
        self.fields["fired_by"] = PersonField(
            writer, label="Who fires it", also=self.instance.fired_by_id
        )
        self.order_fields(["kiln", "revision", "title", "ready_by", "planned_start"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kiln, revision = cleaned.get("kiln"), cleaned.get("revision")
        if kiln and revision:
            self._count_back(cleaned, revision, kiln)
            planned_start, ready_by = cleaned.get("planned_start"), cleaned.get("ready_by")
            self._chosen = (revision, kiln, planned_start, ready_by)
            say_what_blocks(self, revision, kiln, self.writer.unit)
        return cleaned

    def _count_back(self, cleaned: dict[str, Any], revision: Revision, kiln: Kiln) -> None:
        """The start from the wanted opening, where no start was given, or not another one."""
        ready_by = cleaned.get("ready_by")
        given = cleaned.get("planned_start") and (
            self.instance.pk is None or "planned_start" in self.changed_data
        )
        if ready_by is None or given or "planned_start" in self.errors:
            return
        start = start_by(revision, kiln, ready_by)
        if start is None:
            self.add_error("ready_by", "This kiln never gets there, so no start can be told.")
        elif start < timezone.now():
            when = f"{timezone.localtime(start):%a %d %b, %H:%M}"
            self.add_error(
                "ready_by", f"Too soon: it would have to be started by {when}, which is past."
            )
        else:
            cleaned["planned_start"] = start

    def facts(self) -> dict[str, Any]:
        """What a plan keeps of it."""
        return {name: value for name, value in self.cleaned_data.items() if name != "ready_by"}

    def changes(self) -> dict[str, Any]:
        """What is otherwise than it was shown, and the start that was counted back."""
        changed = {*self.changed_data}
        if self.cleaned_data.get("ready_by") is not None:
            changed.add("planned_start")
        return {name: value for name, value in self.facts().items() if name in changed}

    def chosen(self) -> tuple[Revision, Kiln, datetime | None, datetime | None] | None:
        """Which revision in which kiln, its start and the wanted opening, as far as that was said,
        fit to keep or not."""
        return self._chosen if self.is_bound and self.errors is not None else None


class StartForm(UnitForm, forms.Form):
    all_the_same = forms.BooleanField(label="It is started all the same", required=False)
    started_at = DateAndTimeField(label="Started", required=False, help_text="Empty means now.")
    room_temperature_c = TemperatureField(
        label="Room temperature", required=False, lowest_c=-20, highest_c=60
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = SafetyLine.current()
        self.fields["looked_at"] = forms.MultipleChoiceField(
            choices=[(line, line) for line in self.lines],
            widget=forms.CheckboxSelectMultiple,
            required=False,
            label="Looked at before",
        )
        # The list may be changed between the page and its sending: what is not there any more
        # was not asked for.
        self.fields["looked_at"].error_messages["invalid_choice"] = (
            "The studio changed its list meanwhile; look at it again."
        )
        self.order_fields(["looked_at"])

    def facts(self) -> dict[str, Any]:
        """What starting it keeps: each line with whether it was ticked."""
        ticked = set(self.cleaned_data["looked_at"])
        lines = [(line, line in ticked) for line in self.lines]
        return self.cleaned_data | {"looked_at": lines}


class ReadyByForm(forms.Form):
    """For a start that is counted back from the opening."""

    ready_by = DateAndTimeField(label="Cool enough to open by", required=False)


class CallOffForm(forms.Form):
    reason = forms.CharField(label="Why", required=False, max_length=200)


class OpenForm(HoldsPictures, UnitForm, forms.Form):
    """The opening, in the order in which one comes to it beside the kiln."""

    opened_at = DateAndTimeField(label="Opened", required=False, help_text="Empty means now.")
    opened_temperature_c = TemperatureField(
        label="The display then", required=False, lowest_c=-20, highest_c=1400
    )
    recorded_peak_c = TemperatureField(
        label="Recorded peak", required=False, help_text="The highest that the display reached."
    )
    recorded_hold_s = DurationField(
        label="Hold at the top", required=False, help_text="As 10 or 1:30."
    )
    recorded_duration_s = DurationField(
        label="Duration",
        required=False,
        help_text="From the start to the end of the last segment, as 9:40.",
    )
    photographs = PicturesField(required=False, label="Photographs of what came out")

    def __init__(self, *args: Any, firing: Firing, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.firing = firing
        self.fields["opened_by"] = PersonField(writer, label="By")
        self.order_fields(["opened_at", "opened_temperature_c", "opened_by"])

    def clean_opened_at(self) -> Any:
        opened_at = self.cleaned_data["opened_at"] or timezone.now()
        if self.firing.started_at and opened_at <= self.firing.started_at:
            raise forms.ValidationError("That is before it was started.")
        return opened_at


STARTED_FIELDS = [
    "title",
    "fired_by",
    "started_at",
    "recorded_peak_c",
    "recorded_hold_s",
    "recorded_duration_s",
    "room_temperature_c",
    "energy_kwh",
    "also_changed",
    "also_changed_note",
    "notes",
    "is_private",
]


class RecordForm(SavesOwnChanges, UnitForm, forms.ModelForm):
    """A firing's record once it was started: measurements, what else changed, notes."""

    started_at = DateAndTimeField(label="Started")
    opened_at = DateAndTimeField(label="Opened")
    opened_temperature_c = TemperatureField(
        label="Opened at", required=False, lowest_c=-20, highest_c=1400
    )
    recorded_peak_c = TemperatureField(
        label="Recorded peak", required=False, help_text="The highest that the display reached."
    )
    recorded_hold_s = DurationField(label="Hold at the top", required=False)
    recorded_duration_s = DurationField(
        label="Duration",
        required=False,
        help_text="From the start to the end of the last segment, as 9:40.",
    )
    room_temperature_c = TemperatureField(
        label="Room temperature", required=False, lowest_c=-20, highest_c=60
    )
    also_changed = forms.MultipleChoiceField(
        label="What else changed since the last time",
        choices=AlsoChanged.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = Firing
        fields = [*STARTED_FIELDS, "opened_at", "opened_temperature_c"]
        widgets = {"notes": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args: Any, writer: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["fired_by"] = PersonField(writer, label="Who", also=self.instance.fired_by_id)
        self.order_fields(["title", "fired_by", "started_at", "opened_at", "opened_temperature_c"])
        if self.instance.state != FiringState.OPENED:
            del self.fields["opened_at"], self.fields["opened_temperature_c"]

    def changes(self) -> dict[str, Any]:
        """What is otherwise than it was shown."""
        return {name: self.cleaned_data[name] for name in self.changed_data}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        started, opened = cleaned.get("started_at"), cleaned.get("opened_at")
        if started and opened and opened <= started:
            self.add_error("opened_at", "A kiln can’t be opened before its firing started.")
        require_past(self, "started_at", "opened_at")
        return cleaned
